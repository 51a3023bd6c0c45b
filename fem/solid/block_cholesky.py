"""Cholesky factorisation of a stiffness that is a chain of blocks, each coupled only to its neighbours.

A block is eliminated as soon as its two slabs are in; only the factors are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dgemm, dpotrf, dsyrk, dtrsm
from stickout.fem.solid.layout import Layout
from stickout.fem.solid.slab import Assembly, slabs
from stickout.meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class Limits:
    """Up to where a bar is factored; beyond, it is solved by iteration.

    Attributes
    ----------
    memory
        Bytes that factors may take at once; past it only one part's are kept, and past it for one part none.
    width
        Unknowns of a block, in the mean that the work goes by, above which iteration is quicker where cells
        are no flatter than wide.
    flat
        How much flatter cells take the iteration twice as long.

    Source
    ------
    Width: where both take as long, measured, see DEVELOPERS.md (computed here). ``flat``: own rule of thumb.
    """

    memory: float = 4.0e9
    width: float = 1100.0
    flat: float = 40.0

    def allow(self, layout: Layout, *, flatness: float = 1.0) -> bool:
        """Return whether an order of unknowns is to be factored, by its blocks and how flat the cells are.

        Parameters
        ----------
        layout
            The order.
        flatness
            Longest edge of a cell over its shortest, of the flattest cell.
        """
        own = np.diff(layout.start).astype(float)
        # The work goes by the cube of a block, that of an iteration by the unknowns and how flat cells are.
        widest = self.width**2 * (1 + flatness / self.flat)
        narrow = float((own**3).sum()) <= widest * layout.n_unknowns
        return direct_bytes(layout) <= self.memory and narrow


USUAL = Limits()
DIRECTLY = Limits(np.inf, np.inf)
BY_ITERATION = Limits(0.0, 0.0)


class BlockCholesky:
    """The factored stiffness: solves for columns in the order of the unknowns."""

    def __init__(
        self, lower: Sequence[FloatArray], coupling: Sequence[FloatArray], *, layout: Layout
    ) -> None:
        self._lower = lower
        self._coupling = coupling
        self._start = layout.start

    @property
    def n_bytes(self) -> int:
        """Return the memory the factors take."""
        return sum(a.nbytes for a in (*self._lower, *self._coupling))

    def solve(self, right: FloatArray) -> FloatArray:
        """Return the displacements under load columns, both of shape (n_unknowns, n)."""
        y = self._forward(right)
        last = len(self._lower) - 1
        for i in range(last, -1, -1):
            w = self._coupling[i + 1] if i < last else self._coupling[0]
            if w.size:
                y[i][-w.shape[1] :] -= dgemm(1.0, w, y[i + 1], trans_a=1)
            if y[i].size:
                y[i] = dtrsm(1.0, self._lower[i], y[i], lower=1, trans_a=1, overwrite_b=1)
        return np.concatenate(y)

    def flexibility(self, right: FloatArray) -> FloatArray:
        """Return load columns times the displacements under them, (n, n): half the work of ``solve``."""
        half = np.concatenate(self._forward(right))
        return half.T @ half

    def _forward(self, right: FloatArray) -> list[FloatArray]:
        """Return the lower factor's inverse times columns, block by block."""
        # Copies, since the solves below overwrite them; a single row or column would else be a view.
        y = [np.array(right[a:b], order="F") for a, b in zip(self._start[:-1], self._start[1:], strict=True)]
        for i, low in enumerate(self._lower):
            w = self._coupling[i]
            if w.size:
                y[i] = dgemm(-1.0, w, y[i - 1][-w.shape[1] :], beta=1.0, c=y[i], overwrite_c=1)
            if low.size:
                y[i] = dtrsm(1.0, low, y[i], lower=1, overwrite_b=1)
        return y


def direct_bytes(layout: Layout) -> int:
    """Return the most memory that factoring takes, before anything is summed.

    Parameters
    ----------
    layout
        The order of the unknowns.

    Returns
    -------
    int
        The factors, exactly, and two of the largest slabs that are summed while they grow.
    """
    own, following = _sizes(layout)
    slab = own**2 + following * layout.forward + following**2
    return 8 * int((own**2 + following * layout.forward).sum() + 2 * slab.max(initial=0))


def _sizes(layout: Layout) -> tuple[IntArray, IntArray]:
    """Return the unknowns of each block and of the next one, which the last block lacks."""
    own = np.diff(layout.start)
    return own, np.append(own[1:], 0)


def factor_chain(assembly: Assembly) -> BlockCholesky:
    """Return the Cholesky factor of an assembled stiffness.

    Parameters
    ----------
    assembly
        What it is summed from.

    Returns
    -------
    BlockCholesky
        The factor.

    Raises
    ------
    SolveError
        The stiffness is not positive: the bar can move freely.

    Source
    ------
    Block Cholesky of a block tridiagonal matrix: Golub & Van Loan, Matrix Computations, section 4.5
    (recalled, not opened).
    """
    lower, coupling = _rooms(assembly.layout)
    carried: FloatArray | None = None
    for number, (own, across, following) in enumerate(slabs(assembly)):
        low = lower[number]
        low[...] = own
        if carried is not None:
            low += carried
        _cholesky(low, number)
        if number + 1 == len(lower):
            break
        n, w = across.shape[1], coupling[number + 1]
        w[...] = across
        if w.size:
            dtrsm(1.0, low[-n:, -n:], w, side=1, lower=1, trans_a=1, overwrite_b=1)
            dsyrk(-1.0, w, beta=1.0, c=following, lower=1, overwrite_c=1)
        carried = following
    return BlockCholesky(lower, coupling, layout=assembly.layout)


def _rooms(layout: Layout) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return where the factors go, column-major: all in one array, whose first use costs the least."""
    own, following = _sizes(layout)
    shapes = [(n, n) for n in own.tolist()] + [
        (n, k) for n, k in zip(following[:-1].tolist(), layout.forward[:-1].tolist(), strict=True)
    ]
    ends = np.cumsum([0, *[n * k for n, k in shapes]]).tolist()
    room = np.empty(ends[-1])
    views = [
        room[a:b].reshape(shape, order="F") for a, b, shape in zip(ends[:-1], ends[1:], shapes, strict=True)
    ]
    return views[: len(own)], [np.zeros((0, 0)), *views[len(own) :]]


def _cholesky(block: FloatArray, number: int) -> None:
    """Turn a block into its lower factor, in place; its upper triangle is not used."""
    if not block.size:
        return
    _, info = dpotrf(block, lower=1, clean=0, overwrite_a=1)
    if info:
        raise SolveError(
            f"The stiffness is not positive in block {number} of the bar (pivot {info}): something can move "
            "freely. Check that the grip holds the bar in every direction."
        )
