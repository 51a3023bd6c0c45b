"""One order of the Fourier series: its chain, how its motions look, how they move the edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dsygvd
from stickout.fem.revolved.bar import Cells, RevolvedBar
from stickout.fem.revolved.chain import Chain
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.revolved.rigid import Rigid, rigid_of
from stickout.fem.revolved.section import (
    ACROSS,
    AXIAL,
    BENDING,
    MASS,
    TORSION,
    Unknowns,
    shares_of,
    unknowns_of,
)
from stickout.fem.solid.kinds import KINDS
from stickout.meshes.tagged import FloatArray

BAR: Final = "bar"
"""The region that hangs over."""

# Up to this share of the radius beyond a ring a point counts as on it: a mesh's middle nodes lie there.
_BESIDE: Final = 2e-3


@dataclass(frozen=True)
class Way:
    """A kind of motion: order of the series, components, and by how much it is turned about the bar [rad]."""

    order: int
    parts: tuple[int, ...]
    turn: float = 0.0


SIDEWAYS: Final = Way(1, BENDING)
UPWARD: Final = Way(1, BENDING, np.pi / 2)
ROUND: Final = Way(0, TORSION)
ALONG: Final = Way(0, AXIAL)


@dataclass(frozen=True)
class Sections:
    """Sections of the overhanging bar that belong to one length, at Gauss points along it.

    Attributes
    ----------
    number
        Number of the length.
    weight
        Length that each stands for [m], shape (n_points,).
    moved
        Their unknowns, shape (n_points, n_section, n).
    mass
        What makes of them the integral of squared motion over the section, (n_section, n_section).
    rigid
        How they move as rigid ones.
    area
        Area of each [m^2].
    """

    number: int
    weight: FloatArray
    moved: FloatArray
    mass: FloatArray
    rigid: Rigid
    area: float


class Wave:
    """All motions of one way, as if not turned.

    Parameters
    ----------
    bar
        The bar.
    cells
        Its cells.
    order, parts
        Order of the series and the components that take part.
    count
        How many bar-like motions start a search.
    """

    def __init__(
        self, bar: RevolvedBar, cells: Cells, *, order: int, parts: tuple[int, ...], count: int = 2
    ) -> None:
        self._bar, self._cells, self._count = bar, cells, count
        self.unknowns: Unknowns = unknowns_of(cells, order, parts=parts)
        self.shares = [
            shares_of(cells, self.unknowns, length=length, number=n) for n, length in enumerate(bar.lengths)
        ]

    @property
    def names(self) -> list[str]:
        """Return the names of regions and bed."""
        return list(dict.fromkeys(name for shares in self.shares for name in shares))

    @cached_property
    def chain(self) -> Chain:
        """Return its sections joined along the bar."""
        return Chain(self._cells, self.shares, held=self._bar.held)

    @property
    def lowest_of_sections(self) -> float:
        """Return the least square of a frequency [1/s^2] of an endless bar of any of the makes, unheld."""
        least = np.inf
        beds = {one.bed[0] for one in self._bar.lengths if one.bed is not None}
        for shares in self.shares:
            rings = np.asarray(sum(share for name, share in shares.items() if name not in beds))
            own = np.flatnonzero(rings[MASS].diagonal())
            across, mass = rings[ACROSS][own[:, None], own], rings[MASS][own[:, None], own]
            values, _, fault = dsygvd(across, mass, jobz="N")
            if fault:
                raise SolveError("The section of the bar has no mass.")
            least = min(least, float(values[0]))
        return least

    @property
    def flex(self) -> FloatArray:
        """Return how the end face answers unit loads of its rigid motions, shape (n_rigid, n_rigid)."""
        return np.asarray(self.loads.T @ self.first[:, : self.loads.shape[1]])

    @cached_property
    def first(self) -> FloatArray:
        """Return the answers to unit loads at the end face, then to the inertia of bar-like motions.

        They start a search, shape (n_unknowns, n_rigid + count).
        """
        return self.chain.solve(np.hstack([self.loads, self.chain.mass(self._bar_like())]))

    def _bar_like(self) -> FloatArray:
        """Return bar-like motions, shape (n_unknowns, count)."""
        count, m, radii = self._count, self.unknowns.order, self.unknowns.radii
        spread = self.unknowns.spread
        if m == 0:
            across = spread[:, 2].sum(axis=0) + (radii / radii[-1]) @ spread[:, 1]
        else:
            across = (radii / radii[-1] if m > 1 else np.ones_like(radii)) @ (spread[:, 0] - spread[:, 1])
        x = self.along()
        waves = np.sin(np.outer((x - x[0]) / (x[-1] - x[0]), (np.arange(count) + 0.5) * np.pi))
        if not self._bar.held:
            waves = np.concatenate([np.ones((len(x), 1)), waves[:, : count - 1]], axis=1)
        return self.chain.gather(waves[:, None, :] * across[:, None])

    def along(self) -> FloatArray:
        """Return the places of the nodes along the bar [m]."""
        x, given = self._cells.x, polynomials(self._cells.fine.along)
        inner = x[:-1, None] + np.diff(x)[:, None] * given.nodes[1:]
        return np.concatenate([x[:1], inner.ravel()])

    @cached_property
    def end(self) -> Rigid:
        """Return how the end face moves as a rigid one."""
        return self._rigid(len(self._bar.lengths) - 1, None)

    @cached_property
    def loads(self) -> FloatArray:
        """Return unit loads of the end face's rigid motions, shape (n_unknowns, n_rigid)."""
        out = np.zeros((self.chain.n_unknowns, len(self.end.names)))
        there = self.chain.tip >= 0
        out[self.chain.tip[there]] = self.end.of[:, there].T
        return out

    def reach(self, turn: float) -> FloatArray:
        """Return the motion of the edge from the motions of the end face, (3, n_rigid), turned about the bar.

        It rides rigidly on the mean translation and mean rotation of the end face.
        """
        return np.asarray(self._bar.carried @ self.end.translation_and_rotation(turn))

    def edge(self, turn: float) -> FloatArray:
        """Return the motion of the edge from the unknowns of the chain, shape (3, n_unknowns)."""
        return self.reach(turn) @ self.loads.T

    def _rigid(self, number: int, region: str | None) -> Rigid:
        """Return how a section of a length moves as a rigid one; only the rings of a region, or all."""
        rings = [r for r in enumerate(self._bar.lengths[number].rings) if region in (None, r[1].region)]
        return rigid_of(self._cells, self.unknowns, number=number, rings=rings)

    def overhanging(self, columns: FloatArray) -> FloatArray:
        """Return how much the overhanging bar moves: squared motion over the volume, shape (5, n).

        First what each of ``KINDS`` takes of it, in sections that stay rigid, then all of it.

        Parameters
        ----------
        columns
            Unknowns of the chain, shape (n_unknowns, n).
        """
        out = np.zeros((len(KINDS) + 1, columns.shape[1]))
        for one in self.sections(columns):
            out[-1] += np.einsum("p,pnk->k", one.weight, one.moved * (one.mass @ one.moved))
            squares = np.einsum("p,pik->ik", one.weight, (one.rigid.of @ one.moved) ** 2)
            np.add.at(out, one.rigid.kind, one.rigid.size[:, None] * squares)
        return out

    def sections(self, columns: FloatArray) -> Iterator[Sections]:
        """Yield how sections of the overhanging bar move under columns (n_unknowns, n), length by length."""
        nodal, given = self.chain.spread(columns), polynomials(self._cells.fine.along)
        degree, sizes = self._cells.fine.along, np.diff(self._cells.x)
        for number, shares in enumerate(self.shares):
            if BAR not in shares:
                continue
            rings = [ring for ring in self._bar.lengths[number].rings if ring.region == BAR]
            cells = np.flatnonzero(self._cells.length == number)
            moved = nodal[cells[:, None] * degree + np.arange(degree + 1)]
            moved = given.values @ moved.reshape(*moved.shape[:2], -1)
            yield Sections(
                number=number,
                weight=(given.weights * sizes[cells, None]).ravel(),
                moved=moved.reshape(-1, *nodal.shape[1:]),
                mass=shares[BAR][MASS] / rings[0].material.density,
                rigid=self._rigid(number, BAR),
                area=np.pi * (rings[-1].outer ** 2 - rings[0].inner ** 2),
            )

    def most(self, columns: FloatArray) -> FloatArray:
        """Return the motion of the point that moves most under columns (n_unknowns, n): (n,)."""
        nodal = self.chain.spread(columns)
        moved = np.einsum("rin,xnk->xrik", self.unknowns.spread, nodal, optimize=True) ** 2
        most = np.maximum(moved[:, :, 0] + moved[:, :, 2], moved[:, :, 1])
        return np.asarray(np.sqrt(most.max(axis=(0, 1))))

    def motion(self, points: FloatArray, columns: FloatArray, *, turn: float) -> FloatArray:
        """Return the motion of points [m], (n_points, 3), under columns (n_unknowns, n): (n_points, 3, n)."""
        x, at_x = np.unique(np.round(points[:, 0], 12), return_inverse=True)
        radius = np.hypot(points[:, 1], points[:, 2])
        r, at_r = np.unique(np.round(self._onto_rings(radius), 12), return_inverse=True)
        degrees = self._cells.fine
        along = _interpolation(self._cells.x, x, degrees.along)
        across = _interpolation(self._cells.r, r, degrees.across)
        section = np.tensordot(across, self.unknowns.spread, axes=1)
        grid = np.tensordot(along, self.chain.spread(columns), axes=1)
        moved = np.einsum("rin,xnk->xrik", section, grid, optimize=True)[at_x, at_r]
        angle = np.arctan2(points[:, 2], points[:, 1])
        # Of order 0 there is a twist, which has no cosine, or none of it: both factors are 1.
        phase = self.unknowns.order * angle - turn
        cosines, sines = (np.cos(phase), np.sin(phase)) if self.unknowns.order else np.ones((2, len(points)))
        radial, around = moved[:, 0] * cosines[:, None], moved[:, 1] * sines[:, None]
        c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
        out: FloatArray = np.stack(
            [moved[:, 2] * cosines[:, None], radial * c - around * s, radial * s + around * c], axis=1
        )
        return out

    def _onto_rings(self, radius: FloatArray) -> FloatArray:
        """Return radii of which those just beyond a ring lie on it."""
        rings = np.array(sorted({r for one in self._bar.lengths for r in one.radii}))
        nearest = rings[np.abs(radius[:, None] - rings).argmin(axis=1)]
        return np.where(np.abs(radius - nearest) < _BESIDE * rings[-1], nearest, radius)


def _interpolation(lines: FloatArray, places: FloatArray, degree: int) -> FloatArray:
    """Return values of all the nodes' polynomials at places, shape (n_places, n_nodes)."""
    cell = np.clip(np.searchsorted(lines, places) - 1, 0, len(lines) - 2)
    local = (places - lines[cell]) / np.diff(lines)[cell]
    out = np.zeros((len(places), (len(lines) - 1) * degree + 1))
    columns = cell[:, None] * degree + np.arange(degree + 1)
    np.put_along_axis(out, columns, polynomials(degree).at(local), axis=1)
    return out
