"""Motions of a bar of revolution that are solved together, and what their modes do."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.revolved.wave import Wave, Way
from stickout.fem.solid.eigensearch import BlockIteration, Eigenpairs
from stickout.meshes.tagged import FloatArray

_TOLERANCE: Final = 1e-7


@dataclass(frozen=True)
class Block:
    """One way of moving inside a problem."""

    wave: Wave
    way: Way


class Problem:
    """Ways of moving that are solved together, being joined by the mass at the edge.

    Parameters
    ----------
    blocks
        The ways.
    mass
        Mass at the edge [kg].
    turned
        Turns about the bar [rad] by which each motion is another one of equal frequency.
    """

    def __init__(self, blocks: Sequence[Block], *, mass: float, turned: Sequence[float] = (0.0,)) -> None:
        self.blocks, self.turned, self._point = blocks, turned, mass
        self._ends = np.cumsum([0, *[b.wave.chain.n_unknowns for b in blocks]])
        self._run: BlockIteration | None = None
        self.pairs = Eigenpairs(np.empty(0), np.empty((0, 0)), np.empty(0))
        # An eigenvalue [1/s^2] below which no others than those found are likely.
        self.beyond = -np.inf

    def ask(self, wanted: int) -> None:
        """Solve for a number of pairs."""
        if self._run is None:
            first = [block.wave.first for block in self.blocks]
            columns = np.cumsum([0, *[one.shape[1] for one in first]])
            start = np.zeros((self._ends[-1], columns[-1]))
            for number, own in enumerate(first):
                start[self.part(number), columns[number] : columns[number + 1]] = own
            self._run = BlockIteration(
                self.solve, self.inertia, start=start, tolerance=_TOLERANCE, solved=True
            )
        self.pairs = self._run.lowest(wanted)
        self.beyond = self._run.beyond(wanted)

    def part(self, number: int) -> slice:
        """Return where the unknowns of a way lie."""
        return slice(int(self._ends[number]), int(self._ends[number + 1]))

    def edge(self, columns: FloatArray, turn: float) -> FloatArray:
        """Return the motion of the edge under columns turned about the bar, shape (3, n)."""
        out = np.zeros((3, columns.shape[1]))
        for number, block in enumerate(self.blocks):
            wave = block.wave
            out += wave.reach(block.way.turn + turn) @ (wave.loads.T @ columns[self.part(number)])
        return out

    def kind_shares(self) -> FloatArray:
        """Return the shares of the kinds of modes in the squared motion of each, shape (n, 4)."""
        *rigid, _, whole = np.sum([wave.overhanging(own) for wave, own in self._own()], axis=0)
        shares: FloatArray = np.stack([*rigid, whole - np.sum(rigid, axis=0)], axis=1) / whole[:, None]
        return shares

    def most(self) -> FloatArray:
        """Return the motion of the point that moves most in each mode [kg^-1/2], shape (n,).

        Of a mode that moves in more ways than one it is bounded by the sum of theirs.
        """
        return np.asarray(np.sum([wave.most(own) for wave, own in self._own()], axis=0))

    def energies(self) -> dict[str, FloatArray]:
        """Return the strain energy [J] of each mode in every region and bed, shape (n,) each."""
        names = self.blocks[0].wave.names
        if len(names) == 1:
            return {names[0]: self.pairs.values / 2}
        out: dict[str, FloatArray] = {}
        for wave, columns in self._own():
            own = wave.chain.energies(columns)
            out = {name: out.get(name, 0.0) + energy for name, energy in own.items()}
        return out

    def _own(self) -> Iterator[tuple[Wave, FloatArray]]:
        """Yield every way with its share in the modes."""
        for number, block in enumerate(self.blocks):
            yield block.wave, self.pairs.shapes[self.part(number)]

    @cached_property
    def edge_of_all(self) -> FloatArray:
        """Return the motion of the edge from all unknowns, shape (3, n_unknowns)."""
        return np.concatenate([block.wave.edge(block.way.turn) for block in self.blocks], axis=1)

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the inverse of the stiffness times columns, both of shape (n_unknowns, n)."""
        return self._each(load, lambda wave, own: wave.chain.solve(own))

    def inertia(self, columns: FloatArray) -> FloatArray:
        """Return the mass times columns, both of shape (n_unknowns, n)."""
        out = self._each(columns, lambda wave, own: wave.chain.mass(own))
        if self._point:
            out += self.edge_of_all.T @ (self._point * (self.edge_of_all @ columns))
        return out

    def _each(self, columns: FloatArray, work: Callable[[Wave, FloatArray], FloatArray]) -> FloatArray:
        own = [work(block.wave, columns[self.part(n)]) for n, block in enumerate(self.blocks)]
        return own[0] if len(own) == 1 else np.concatenate(own)


@dataclass(frozen=True)
class Mode:
    """One mode: the problem it is of, its number there, and by how much it is turned about the bar [rad]."""

    problem: Problem
    number: int
    turn: float
