"""Matrices over the radius: what one order of the Fourier series makes of a section.

With u_r = U cos m t, u_t = V sin m t, u_x = W cos m t the stiffness of a cell along the bar is a sum of
three products: of ``ALONG`` with both motions derived along the bar, ``MIXED`` with the first, ``ACROSS``
with none. Each is a sum of seven integrals over the radius, which all orders and materials share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.revolved.bar import Length
from stickout.fem.revolved.grid import Grid
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.supports import Spring
from stickout.meshes.tagged import FloatArray, IntArray

# Components that take part: radial, round, along.
BENDING: Final = (0, 1, 2)
TORSION: Final = (1,)
AXIAL: Final = (0, 2)
# What a region or bed adds is (4, n, n): these matrices over the section's unknowns.
ALONG: Final = 0
MIXED: Final = 1
ACROSS: Final = 2
MASS: Final = 3


@dataclass(frozen=True)
class Unknowns:
    """Unknowns of a section.

    Attributes
    ----------
    grid
        The cells across.
    order
        Order of the series, 0 or above.
    parts
        Components that take part.
    free
        Numbers of the unknowns among all components that take part, node by node, shape (n,).
    joined
        Whether both components across of the first node, which lies on the axis, are one unknown.
    """

    grid: Grid
    order: int
    parts: Sequence[int]
    free: IntArray
    joined: bool

    @property
    def round_factor(self) -> float:
        """Return the integral round the axis of the squared cosine."""
        return np.pi if self.order else 2 * np.pi

    @cached_property
    def spread(self) -> FloatArray:
        """Return the motion (radial, round, along) of the nodes from the unknowns, (n_nodes, 3, n)."""
        n = len(self.grid.nodes)
        out = np.zeros((n, 3, len(self.free)))
        node, part = np.divmod(self.free, len(self.parts))
        out[node, np.array(self.parts)[part], np.arange(len(self.free))] = 1.0
        if self.joined:
            out[0, 1, 0] = -1.0
        return out

    def from_face(self, face: Unknowns) -> FloatArray | None:
        """Return the unknowns from those of a face that ends the length, (n, n_face); None if they are it."""
        if face.grid is self.grid:
            return None
        moved = np.tensordot(face.grid.values(self.grid.nodes), face.spread[:, list(self.parts)], axes=1)
        return np.asarray(moved.reshape(-1, len(face.free))[self.free])

    def reduced(self, matrices: FloatArray) -> FloatArray:
        """Return matrices (..., N, N) over all components that take part over the unknowns."""
        if self.joined:  # the point moves sideways: U and -V alike
            matrices[..., 0, :] -= matrices[..., 1, :]
            matrices[..., :, 0] -= matrices[..., :, 1]
        return np.asarray(matrices[..., self.free[:, None], self.free])


def unknowns_of(grid: Grid, order: int, *, parts: Sequence[int]) -> Unknowns:
    """Return a section's unknowns; on the axis only what one point can do is left.

    Parameters
    ----------
    grid
        The cells across the section.
    order
        Order of the series.
    parts
        Components that take part.
    """
    on_axis: list[int] = []
    joined = grid.lines[0] == 0 and order == 1
    first = 0
    if grid.lines[0] == 0:
        first = len(parts)
        if order == 0 and 2 in parts:
            on_axis = [list(parts).index(2)]
        if order == 1:
            on_axis = [0]
    free = np.array([*on_axis, *range(first, len(grid.nodes) * len(parts))])
    return Unknowns(grid, order, parts, free, bool(joined))


def shares_of(unknowns: Unknowns, length: Length, *, ring: IntArray) -> dict[str, FloatArray]:
    """Return what every region and the bed of a length add, by name, shape (4, n, n) each.

    Parameters
    ----------
    unknowns
        The unknowns of the section.
    length
        The length of bar.
    ring
        Number of the ring that each cell across belongs to.
    """
    shares: dict[str, FloatArray] = {}
    degree, n = unknowns.grid.degree, len(unknowns.grid.nodes)
    for place, one in enumerate(length.rings):
        integrals = np.zeros((_INTEGRALS, n, n))
        for column in np.flatnonzero(ring == place):
            own = slice(column * degree, column * degree + degree + 1)
            integrals[:, own, own] += unknowns.grid.integrals[:, column]
        share = _ring_share(unknowns, integrals, one.material)
        shares[one.region] = shares[one.region] + share if one.region in shares else share
    if length.bed is not None:
        name, spring = length.bed
        shares[name] = bed_share(unknowns, spring, radius=length.radii[-1])
    return shares


# Integrals over the radius r of products of polynomials p and q, as ``Grid.integrals`` has them:
# p q r, p q, p q / r, p q', p q' r, p' q, p' q' r.
_INTEGRALS: Final = 7
_PQR, _PQ, _PQ_R, _PDQ, _PDQR, _DPQ, _DPDQR = range(_INTEGRALS)


def _ring_share(unknowns: Unknowns, integrals: FloatArray, material: Elastic) -> FloatArray:
    """Return what one ring adds, from its integrals over the radius, (7, n_nodes, n_nodes)."""
    parts, n = list(unknowns.parts), len(unknowns.grid.nodes)
    factors = _factors(material, unknowns.order)[:, parts][:, :, parts] * unknowns.round_factor
    k = len(parts)
    whole = (factors.reshape(-1, _INTEGRALS) @ integrals.reshape(_INTEGRALS, -1)).reshape(4, k, k, n, n)
    return unknowns.reduced(whole.transpose(0, 3, 1, 4, 2).reshape(4, n * k, n * k))


def _factors(material: Elastic, m: int) -> FloatArray:
    """Return what each integral counts in each matrix, for every two components, shape (4, 3, 3, 7).

    Source
    ------
    Strains in cylindrical coordinates: Timoshenko & Goodier, Theory of Elasticity (recalled, not opened).
    Rows are components of p, columns of q; e_rr = U', e_tt = (U + m V) / r, e_xx = W_x, and the three
    shears V' - V / r - m U / r, U_x + W', V_x - m W / r.
    """
    young, poisson = material.youngs_modulus, material.poisson_ratio
    mu = young / (2 * (1 + poisson))
    lame = young * poisson / ((1 + poisson) * (1 - 2 * poisson))
    both = lame + 2 * mu
    out = np.zeros((4, 3, 3, _INTEGRALS))
    u, v, w = 0, 1, 2
    for part, stiff in ((u, mu), (v, mu), (w, both)):
        out[ALONG, part, part, _PQR] = stiff
        out[MASS, part, part, _PQR] = material.density
    mixed, across = out[MIXED], out[ACROSS]
    mixed[w, u, _PDQR], mixed[w, u, _PQ], mixed[w, v, _PQ] = lame, lame, m * lame
    mixed[u, w, _PDQR], mixed[v, w, _PQ] = mu, -m * mu
    across[u, u, [_DPDQR, _DPQ, _PDQ, _PQ_R]] = both, lame, lame, both + m * m * mu
    across[v, v, [_DPDQR, _DPQ, _PDQ, _PQ_R]] = mu, -mu, -mu, mu + m * m * both
    across[u, v, [_DPQ, _PDQ, _PQ_R]] = m * lame, -m * mu, m * (both + mu)
    across[v, u, [_DPQ, _PDQ, _PQ_R]] = -m * mu, m * lame, m * (both + mu)
    across[w, w, [_DPDQR, _PQ_R]] = mu, m * m * mu
    return out


def bed_share(unknowns: Unknowns, spring: Spring, *, radius: float) -> FloatArray:
    """Return what springs add to a section, shape (4, n, n).

    Parameters
    ----------
    unknowns
        The unknowns of the section.
    spring
        Stiffness per area.
    radius
        Where the springs are [m].
    """
    at = int(np.argmin(np.abs(unknowns.grid.nodes - radius)))
    moved = unknowns.spread[at]
    layer = np.array([spring.normal, spring.shear, spring.shear])
    out = np.zeros((4, moved.shape[1], moved.shape[1]))
    out[ACROSS] = unknowns.round_factor * radius * (moved.T * layer) @ moved
    return out
