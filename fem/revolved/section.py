"""Matrices over the radius: what one order of the Fourier series makes of a section.

With u_r = U cos m t, u_t = V sin m t, u_x = W cos m t the stiffness of a cell along the bar is a sum of
three products: of ``along`` with both motions derived along the bar, ``mixed`` with the first, ``across``
with none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.revolved.bar import Cells, Length
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.supports import Spring
from stickout.meshes.tagged import FloatArray, IntArray

# Components that take part: radial, round, along.
BENDING: Final = (0, 1, 2)
TORSION: Final = (1,)
AXIAL: Final = (0, 2)


@dataclass(frozen=True)
class Share:
    """What one region or bed adds, shapes (n, n); rows and columns are the section's unknowns."""

    along: FloatArray
    mixed: FloatArray
    across: FloatArray
    mass: FloatArray

    def __add__(self, other: Share) -> Share:
        """Return both together."""
        return Share(
            self.along + other.along,
            self.mixed + other.mixed,
            self.across + other.across,
            self.mass + other.mass,
        )


@dataclass(frozen=True)
class Unknowns:
    """Unknowns of a section.

    Attributes
    ----------
    radii
        Nodes [m], shape (n_nodes,).
    order
        Order of the series, 0 or above.
    spread
        Motion (radial, round, along) of the nodes from the unknowns, shape (n_nodes, 3, n).
    """

    radii: FloatArray
    order: int
    spread: FloatArray

    @property
    def round_factor(self) -> float:
        """Return the integral round the axis of the squared cosine."""
        return np.pi if self.order else 2 * np.pi


def unknowns_of(cells: Cells, order: int, *, parts: Sequence[int]) -> Unknowns:
    """Return a section's unknowns; on the axis only what one point can do is left.

    Parameters
    ----------
    cells
        The cells.
    order
        Order of the series.
    parts
        Components that take part.
    """
    places = polynomials(cells.fine.across).nodes[1:]
    inner = cells.r[:-1, None] + np.diff(cells.r)[:, None] * places
    radii = np.concatenate([cells.r[:1], inner.ravel()])
    n = len(radii)
    spread = np.eye(3 * n).reshape(n, 3, 3 * n)
    free = np.zeros((n, 3), dtype=bool)
    free[:, list(parts)] = True
    if cells.r[0] == 0:
        free[0] = False
        if order == 0 and 2 in parts:
            free[0, 2] = True
        if order == 1:  # the point moves sideways: U and -V alike
            free[0, 0] = True
            spread[0, 1, 0] = -1.0
    return Unknowns(radii, order, spread[:, :, free.ravel()])


def shares_of(cells: Cells, unknowns: Unknowns, *, length: Length, number: int) -> dict[str, Share]:
    """Return what every region and the bed of a length add, by name.

    Parameters
    ----------
    cells, unknowns
        The cells and the unknowns of the section.
    length, number
        The length of bar, and its number.
    """
    shares: dict[str, Share] = {}
    for place, ring in enumerate(length.rings):
        columns = np.flatnonzero(cells.ring[number] == place)
        share = _ring_share(cells, unknowns, columns, ring.material)
        shares[ring.region] = shares[ring.region] + share if ring.region in shares else share
    if length.bed is not None:
        name, spring = length.bed
        shares[name] = _bed_share(unknowns, length.radii[-1], spring)
    return shares


def _ring_share(cells: Cells, unknowns: Unknowns, columns: IntArray, material: Elastic) -> Share:
    """Return what the cells of one ring add.

    Source
    ------
    Strains in cylindrical coordinates: Timoshenko & Goodier, Theory of Elasticity (recalled, not opened).
    """
    given = polynomials(cells.fine.across)
    degree, m = cells.fine.across, unknowns.order
    size = np.diff(cells.r)[columns]
    radius = cells.r[columns, None] + size[:, None] * given.points
    weight = (unknowns.round_factor * radius * given.weights * size[:, None]).ravel()
    nodes = columns[:, None] * degree + np.arange(degree + 1)
    moved = unknowns.spread[nodes]
    value, slope = (np.tensordot(of, moved, axes=(1, 1)) for of in (given.values, given.slopes))
    # From (point, cell, component, unknown) to one row of points: u, its slope and u / r.
    n = moved.shape[-1]
    u = value.transpose(2, 1, 0, 3).reshape(3, -1, n)
    steep = (slope / size[:, None, None]).transpose(2, 1, 0, 3).reshape(3, -1, n)
    over = u / radius.reshape(-1, 1)
    still = np.zeros_like(u[0])
    across = np.stack(
        [steep[0], over[0] + m * over[1], still, steep[1] - over[1] - m * over[0], steep[2], -m * over[2]]
    )
    along = np.stack([still, still, u[2], still, u[0], u[1]])
    stress = _stiffness(material)

    def product(one: FloatArray, other: FloatArray) -> FloatArray:
        weighted = np.tensordot(stress, other, axes=1) * weight[:, None]
        return np.asarray(one.reshape(-1, n).T @ weighted.reshape(-1, n))

    mass = u.reshape(-1, n).T @ (material.density * weight[:, None] * u).reshape(-1, n)
    return Share(product(along, along), product(along, across), product(across, across), mass)


def _stiffness(material: Elastic) -> FloatArray:
    """Return the matrix from strains (rr, tt, xx, rt, rx, tx) to stresses [Pa], shape (6, 6)."""
    young, poisson = material.youngs_modulus, material.poisson_ratio
    shear = young / (2 * (1 + poisson))
    out = np.diag([2 * shear] * 3 + [shear] * 3)
    out[:3, :3] += young * poisson / ((1 + poisson) * (1 - 2 * poisson))
    return out


def _bed_share(unknowns: Unknowns, radius: float, spring: Spring) -> Share:
    """Return what springs per area at a radius add."""
    at = int(np.argmin(np.abs(unknowns.radii - radius)))
    moved = unknowns.spread[at]
    layer = np.array([spring.normal, spring.shear, spring.shear])
    across = unknowns.round_factor * radius * (moved.T * layer) @ moved
    nothing = np.zeros_like(across)
    return Share(nothing, nothing, across, nothing)
