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
from stickout.fem.revolved.grid import nodes_of
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
        self.bar, self.cells, self._count = bar, cells, count
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
        return Chain(self.cells, self.shares, self.joints, held=self.bar.held)

    @property
    def lowest_of_sections(self) -> float:
        """Return the least square of a frequency [1/s^2] of an endless bar of any of the makes, unheld."""
        least = np.inf
        beds = {one.bed[0] for one in self.bar.lengths if one.bed is not None}
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
        if not self.bar.held:
            waves = np.concatenate([np.ones((len(x), 1)), waves[:, : count - 1]], axis=1)
        sections, faces = ([self._across(one) for one in given] for given in (self.unknowns, self._faces))
        return self.chain.shaped(waves, sections=sections, faces=faces)

    def _across(self, unknowns: Unknowns) -> FloatArray:
        """Return how a section moves in a bar-like motion, shape (n_section,)."""
        spread, share = unknowns.spread, unknowns.grid.nodes / self.bar.widest
        if self.order == 0:
            return np.asarray(spread[:, 2].sum(axis=0) + share @ spread[:, 1])
        return np.asarray((share if self.order > 1 else np.ones_like(share)) @ (spread[:, 0] - spread[:, 1]))

    def along(self) -> FloatArray:
        """Return the places of the nodes along the bar [m]."""
        return nodes_of(self.cells.x, degree=self.cells.fine.along)

    @cached_property
    def end(self) -> Rigid:
        """Return how the end face moves as a rigid one."""
        return self._rigid(len(self.bar.lengths) - 1, None)

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
        return np.asarray(self.bar.carried @ self.end.translation_and_rotation(turn))

    def edge(self, turn: float) -> FloatArray:
        """Return the motion of the edge from the unknowns of the chain, shape (3, n_unknowns)."""
        return self.reach(turn) @ self.loads.T

    def _rigid(self, number: int, region: str | None) -> Rigid:
        """Return how a section of a length moves as a rigid one; only the rings of a region, or all."""
        rings = [r for r in enumerate(self.bar.lengths[number].rings) if region in (None, r[1].region)]
        return rigid_of(self.unknowns[number], rings, ring=self.cells.ring[number])

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
        given = polynomials(self.cells.fine.along)
        every = zip(self.shares, self.chain.runs, self.chain.spread(columns), strict=True)
        for number, (shares, run, nodal) in enumerate(every):
            if BAR not in shares:
                continue
            rings = [ring for ring in self.bar.lengths[number].rings if ring.region == BAR]
            moved = run.cells(nodal)
            moved = given.values @ moved.reshape(*moved.shape[:2], -1)
            yield Sections(
                number=number,
                weight=(given.weights * run.size[:, None]).ravel(),
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
