"""One order of the Fourier series: its chain, how its motions look, how they move the edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dsygvd
from stickout.fem.revolved.bar import RevolvedBar
from stickout.fem.revolved.cells import Cells
from stickout.fem.revolved.chain import Chain
from stickout.fem.revolved.grid import values_of
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
from stickout.meshes.tagged import FloatArray, IntArray

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
        self.order = order
        grids = [*cells.grids, *cells.faces]
        known = {id(grid): unknowns_of(grid, order, parts=parts) for grid in grids}
        self.unknowns: list[Unknowns] = [known[id(grid)] for grid in cells.grids]
        self._faces = [known[id(grid)] for grid in cells.faces]
        self.joints = [
            (one.from_face(face), other.from_face(face))
            for face, (one, other) in zip(self._faces, pairwise(self.unknowns), strict=True)
        ]
        self.shares = [
            shares_of(unknowns, length, ring=ring)
            for unknowns, length, ring in zip(self.unknowns, bar.lengths, cells.ring, strict=True)
        ]

    @property
    def names(self) -> list[str]:
        """Return the names of regions and bed."""
        return list(dict.fromkeys(name for shares in self.shares for name in shares))

    @cached_property
    def chain(self) -> Chain:
        """Return its sections joined along the bar."""
        return Chain(self._cells, self.shares, self.joints, held=self._bar.held)

    @property
    def lowest_of_sections(self) -> float:
        """Return the least square of a frequency [1/s^2] of an endless bar of any of the makes, unheld."""
        least = np.inf
        beds = {one.bed[0] for one in self._bar.lengths if one.bed is not None}
        for shares in self.shares:
            rings = np.asarray(sum(share for name, share in shares.items() if name not in beds))
            values, _, fault = dsygvd(rings[ACROSS], rings[MASS], jobz="N")
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
        count, x = self._count, self.along()
        waves = np.sin(np.outer((x - x[0]) / (x[-1] - x[0]), (np.arange(count) + 0.5) * np.pi))
        if not self._bar.held:
            waves = np.concatenate([np.ones((len(x), 1)), waves[:, : count - 1]], axis=1)
        sections, faces = ([self._across(one) for one in given] for given in (self.unknowns, self._faces))
        return self.chain.shaped(waves, sections=sections, faces=faces)

    def _across(self, unknowns: Unknowns) -> FloatArray:
        """Return how a section moves in a bar-like motion, shape (n_section,)."""
        spread, share = unknowns.spread, unknowns.grid.nodes / self._bar.widest
        if self.order == 0:
            return np.asarray(spread[:, 2].sum(axis=0) + share @ spread[:, 1])
        return np.asarray((share if self.order > 1 else np.ones_like(share)) @ (spread[:, 0] - spread[:, 1]))

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
        out[-self.end.of.shape[1] :] = self.end.of.T
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
        return rigid_of(self.unknowns[number], rings, ring=self._cells.ring[number])

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
        given = polynomials(self._cells.fine.along)
        degree, sizes = self._cells.fine.along, np.diff(self._cells.x)
        for number, (shares, nodal) in enumerate(zip(self.shares, self.chain.spread(columns), strict=True)):
            if BAR not in shares:
                continue
            rings = [ring for ring in self._bar.lengths[number].rings if ring.region == BAR]
            cells = np.flatnonzero(self._cells.length == number)
            moved = nodal[np.arange(len(cells))[:, None] * degree + np.arange(degree + 1)]
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
        out = np.zeros(columns.shape[1])
        for unknowns, nodal in zip(self.unknowns, self.chain.spread(columns), strict=True):
            moved = np.einsum("rin,xnk->xrik", unknowns.spread, nodal, optimize=True) ** 2
            most = np.maximum(moved[:, :, 0] + moved[:, :, 2], moved[:, :, 1])
            out = np.maximum(out, most.max(axis=(0, 1)))
        return np.sqrt(out)

    def motion(self, points: FloatArray, columns: FloatArray, *, turn: float) -> FloatArray:
        """Return the motion of points [m], (n_points, 3), under columns (n_unknowns, n): (n_points, 3, n)."""
        angle = np.arctan2(points[:, 2], points[:, 1])
        radius = self._onto_rings(np.hypot(points[:, 1], points[:, 2]))
        moved = np.zeros((len(points), 3, columns.shape[1]))
        lengths = self._lengths_at(points[:, 0], radius)
        for number, nodal in enumerate(self.chain.spread(columns)):
            mine = np.flatnonzero(lengths == number)
            moved[mine] = self._moved(number, nodal, x=points[mine, 0], radius=radius[mine])
        # Of order 0 there is a twist, which has no cosine, or none of it: both factors are 1.
        phase = self.order * angle - turn
        cosines, sines = (np.cos(phase), np.sin(phase)) if self.order else np.ones((2, len(points)))
        radial, around = moved[:, 0] * cosines[:, None], moved[:, 1] * sines[:, None]
        c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
        out: FloatArray = np.stack(
            [moved[:, 2] * cosines[:, None], radial * c - around * s, radial * s + around * c], axis=1
        )
        return out

    def _moved(self, number: int, nodal: FloatArray, *, x: FloatArray, radius: FloatArray) -> FloatArray:
        """Return how points of a length move (radial, round, along), shape (n_points, 3, n)."""
        places, at_x = np.unique(np.round(x, 12), return_inverse=True)
        radii, at_r = np.unique(np.round(radius, 12), return_inverse=True)
        cells = np.flatnonzero(self._cells.length == number)
        lines = self._cells.x[cells[0] : cells[-1] + 2]
        unknowns = self.unknowns[number]
        section = np.tensordot(unknowns.grid.values(radii), unknowns.spread, axes=1)
        grid = np.tensordot(values_of(lines, places, degree=self._cells.fine.along), nodal, axes=1)
        return np.asarray(np.einsum("rin,xnk->xrik", section, grid, optimize=True)[at_x, at_r])

    def _lengths_at(self, x: FloatArray, radius: FloatArray) -> IntArray:
        """Return the length that each point is of: on a face one that has its radius."""
        lengths = self._bar.lengths
        before = np.clip(np.searchsorted([one.stop for one in lengths], x), 0, len(lengths) - 1)
        after = np.minimum(before + 1, len(lengths) - 1)
        stop = np.array([one.stop for one in lengths])[before]
        beside = _BESIDE * self._bar.widest
        low, high = (np.array([one.radii[end] for one in lengths])[before] for end in (0, -1))
        outside = (radius < low - beside) | (radius > high + beside)
        return np.where(outside & (np.abs(x - stop) < beside), after, before)

    def _onto_rings(self, radius: FloatArray) -> FloatArray:
        """Return radii of which those just beyond a ring lie on it."""
        rings = np.array(self._bar.radii)
        nearest = rings[np.abs(radius[:, None] - rings).argmin(axis=1)]
        return np.where(np.abs(radius - nearest) < _BESIDE * rings[-1], nearest, radius)
