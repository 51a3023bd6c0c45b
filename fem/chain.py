"""Cholesky factorisation of a stiffness that is a chain of blocks, assembled slab by slab.

A slab is the cells between two neighbouring blocks. Slabs of equal pattern and equal families differ
only by their length along x, so each kind is summed once and then scaled. A block is eliminated as soon
as its two slabs are in; only the factors are kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import blas, lapack

from fem.elasticity import CellMatrices
from fem.errors import SolveError
from fem.layout import Layout
from meshes.tagged import FloatArray, IntArray

# Above this size the coupling factors are not kept but worked out anew in every solve.
LEAN_BYTES = 3e9


@dataclass(frozen=True)
class Ties:
    """Stiffness between groups of nodes that are no cells: beds, joints.

    Attributes
    ----------
    nodes
        Nodes of each group, shape (n, k).
    stiffness
        Their stiffness [N/m], shape (n, 3k, 3k), rows and columns node, xyz.
    """

    nodes: IntArray
    stiffness: FloatArray


class ChainFactor:
    """The factored stiffness: solves for columns in the order of the unknowns."""

    def __init__(self, lower: list[FloatArray], coupling: list[FloatArray], layout: Layout) -> None:
        self._lower = lower
        self._coupling = coupling
        self._start = 3 * layout.start
        self._forward = 3 * layout.forward

    def solve(self, right: FloatArray) -> FloatArray:
        """Return the displacements under load columns, both of shape (n_unknowns, n)."""
        y = [np.asfortranarray(right[a:b]) for a, b in zip(self._start[:-1], self._start[1:], strict=True)]
        for i, low in enumerate(self._lower):
            w = self._coupling[i]
            if w.size:
                y[i] = blas.dgemm(-1.0, w, y[i - 1][-w.shape[1] :], beta=1.0, c=y[i], overwrite_c=1)
            if low.size:
                y[i] = blas.dtrsm(1.0, low, y[i], lower=1, overwrite_b=1)
        for i in range(len(self._lower) - 1, -1, -1):
            w = self._coupling[i + 1] if i + 1 < len(self._lower) else self._coupling[0]
            if w.size:
                y[i][-w.shape[1] :] -= blas.dgemm(1.0, w, y[i + 1], trans_a=1)
            if y[i].size:
                y[i] = blas.dtrsm(1.0, self._lower[i], y[i], lower=1, trans_a=1, overwrite_b=1)
        return np.concatenate(y)


def factor_chain(
    cells: IntArray, matrices: CellMatrices, *, ties: Sequence[Ties], layout: Layout, mass_shift: float = 0.0
) -> ChainFactor:
    """Return the Cholesky factor of ``K + mass_shift * M``.

    Parameters
    ----------
    cells
        Nodes of the cells, shape (n_cells, 20).
    matrices
        Their element matrices.
    ties
        Further stiffness.
    layout
        The order of the unknowns.
    mass_shift
        How much of the mass matrix is added [1/s^2]; above zero for a body that is held nowhere.

    Returns
    -------
    ChainFactor
        The factor.

    Raises
    ------
    SolveError
        The stiffness is not positive: the bar can move freely.
    """
    lower: list[FloatArray] = []
    coupling: list[FloatArray] = [np.zeros((0, 0))]
    carried: FloatArray | None = None
    for number, (own, across, following) in enumerate(_slabs(cells, matrices, ties, layout, mass_shift)):
        lower.append(_cholesky(own if carried is None else own + carried, number))
        if number + 2 == len(layout.start):
            break
        n = across.shape[1]
        if n and len(across):
            across = blas.dtrsm(1.0, lower[-1][-n:, -n:], across, side=1, lower=1, trans_a=1, overwrite_b=1)
            following = blas.dsyrk(-1.0, across, beta=1.0, c=following, lower=1, overwrite_c=1)
        coupling.append(across)
        carried = following
    return ChainFactor(lower, coupling, layout)


def _cholesky(block: FloatArray, number: int) -> FloatArray:
    if not block.size:
        return block
    low, info = lapack.dpotrf(block, lower=1, overwrite_a=1)
    if info:
        raise SolveError(
            f"The stiffness is not positive in block {number} of the bar (pivot {info}): something can move freely. "
            "Check that the grip holds the bar in every direction."
        )
    return low


def _slabs(
    cells: IntArray, matrices: CellMatrices, ties: Sequence[Ties], layout: Layout, mass_shift: float
) -> Iterator[tuple[FloatArray, FloatArray, FloatArray]]:
    """Yield for every block its own stiffness, its coupling to the next, and what the slab adds to that."""
    slab = layout.block[cells].min(axis=1)
    order = np.argsort(slab, kind="stable")
    bounds = np.searchsorted(slab[order], np.arange(len(layout.start)))
    tie_slabs = [layout.block[t.nodes].min(axis=1) for t in ties]
    kinds: dict[bytes, tuple[FloatArray, FloatArray, FloatArray]] = {}
    for b in range(len(layout.start) - 1):
        shape = _Shape.of(layout, b)
        picked = order[bounds[b] : bounds[b + 1]]
        flat = _summed(shape, layout, cells[picked], picked, matrices, mass_shift, kinds)
        for tie, of in zip(ties, tie_slabs, strict=True):
            mine = of == b
            if mine.any():
                flat += shape.scatter(layout, tie.nodes[mine], tie.stiffness[mine])
        yield shape.split(flat)


def _summed(
    shape: _Shape,
    layout: Layout,
    cells: IntArray,
    picked: IntArray,
    matrices: CellMatrices,
    mass_shift: float,
    kinds: dict[bytes, tuple[FloatArray, FloatArray, FloatArray]],
) -> FloatArray:
    """Return the slab's stiffness, from the sum of its kind when its cells are all stretched alike."""
    family, stretch = matrices.family[picked], matrices.stretch[picked]
    if not len(picked):
        return np.zeros(shape.size)
    if np.ptp(stretch) > 1e-9 * stretch[0] or mass_shift:
        k = matrices.stiffness(picked)
        if mass_shift:
            m = matrices.mass[family] * (mass_shift * stretch[:, None, None])
            for i in range(3):
                k[:, i::3, i::3] += m
        return shape.scatter(layout, cells, k)
    key = b"".join(
        [shape.key(), family.tobytes(), (layout.rank[cells] - layout.start[shape.block]).tobytes()]
    )
    if key not in kinds:
        kinds[key] = tuple(
            shape.scatter(layout, cells, part[family])
            for part in (matrices.along, matrices.mixed, matrices.across)
        )
    along, mixed, across = kinds[key]
    s = float(stretch[0])
    flat = along / s
    flat += mixed
    flat += across * s
    return flat


@dataclass(frozen=True)
class _Shape:
    """Sizes of two neighbouring blocks, and how their three matrices lie in one flat array."""

    block: int
    own: int
    forward: int
    next: int

    @staticmethod
    def of(layout: Layout, block: int) -> _Shape:
        start = layout.start
        last = block + 2 == len(start)
        follow = 0 if last else 3 * int(start[block + 2] - start[block + 1])
        own = 3 * int(start[block + 1] - start[block])
        return _Shape(block, own, 3 * int(layout.forward[block]), follow)

    @property
    def size(self) -> int:
        return self.own**2 + self.next * self.forward + self.next**2

    def key(self) -> bytes:
        return f"{self.own},{self.forward},{self.next};".encode()

    def split(self, flat: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        a, b = self.own**2, self.own**2 + self.next * self.forward
        return (
            flat[:a].reshape((self.own, self.own), order="F"),
            flat[a:b].reshape((self.next, self.forward), order="F"),
            flat[b:].reshape((self.next, self.next), order="F"),
        )

    def scatter(self, layout: Layout, nodes: IntArray, matrices: FloatArray) -> FloatArray:
        """Return the flat sum of node-by-node matrices, shape (size,)."""
        k = nodes.shape[1]
        local = layout.rank[nodes] - int(layout.start[self.block])
        ahead = layout.block[nodes] > self.block
        free = layout.rank[nodes] >= 0
        row, column = local[:, :, None], local[:, None, :]
        row_ahead, column_ahead = ahead[:, :, None], ahead[:, None, :]
        n_own = self.own // 3
        lead = np.where(row_ahead, self.next, self.own)
        between = self.own**2 + 3 * (row - n_own) + 3 * (column - n_own + self.forward // 3) * self.next
        following = (
            self.own**2 + self.next * self.forward + 3 * (row - n_own) + 3 * (column - n_own) * self.next
        )
        base = np.where(
            row_ahead, np.where(column_ahead, following, between), 3 * row + 3 * column * self.own
        )
        keep = free[:, :, None] & free[:, None, :] & (row_ahead | ~column_ahead)
        base = np.where(keep, base, self.size)
        lead = np.where(keep, lead, 0)
        three = np.arange(3)
        step = three[:, None, None] + np.zeros((3, 1, 3), dtype=np.int64) + lead[:, :, None, :, None] * three
        index = base[:, :, None, :, None] + np.where(keep[:, :, None, :, None], step, 0)
        values = matrices.reshape(-1, k, 3, k, 3)
        return np.bincount(index.ravel(), values.ravel(), minlength=self.size + 1)[:-1]
