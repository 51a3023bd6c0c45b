"""The outer side of a bar's first length, which lies in a bore: how it moves and answers loads on it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stickout.fem.revolved.wave import Wave
from stickout.meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class Skin:
    """The skin in one order of the series; its unknowns run by plane and then by part.

    Attributes
    ----------
    wave
        The order.
    """

    wave: Wave

    @cached_property
    def lines(self) -> FloatArray:
        """Return the lines between the cells along the first length [m]."""
        return self.wave.cells.lines(0)

    @property
    def degree(self) -> int:
        """Return the degree of the polynomials on them."""
        return self.wave.chain.runs[0].degree

    @cached_property
    def _at(self) -> IntArray:
        """Return the unknowns of the section that are the skin's, one for each part."""
        unknowns = self.wave.unknowns[0]
        return np.asarray(unknowns.spread[-1, list(unknowns.parts)].argmax(axis=1))

    @property
    def _planes(self) -> int:
        return (len(self.lines) - 1) * self.degree + 1

    @property
    def size(self) -> int:
        """Return how many unknowns it has."""
        return self._planes * len(self._at)

    def motion(self, columns: FloatArray) -> FloatArray:
        """Return how it moves under columns (n_unknowns, n), shape (size, n)."""
        moved = self.wave.chain.runs[0].spread(columns)[:, self._at]
        return np.asarray(moved.reshape(-1, columns.shape[1]))

    def loads(self, load: FloatArray) -> FloatArray:
        """Return loads on it (size, n) as columns (n_unknowns, n): the transpose of ``motion``."""
        run, n = self.wave.chain.runs[0], load.shape[1]
        nodal = np.zeros((self._planes, run.width, n))
        nodal[:, self._at] = load.reshape(self._planes, -1, n)
        out = np.zeros((self.wave.chain.n_unknowns, n))
        run.add(nodal, out)
        return out

    @cached_property
    def flex(self) -> FloatArray:
        """Return how it answers loads on it while the bore stands still, shape (size, size)."""
        return self.motion(self.wave.chain.solve(self.loads(np.eye(self.size))))
