"""The stiffness applied to motions cell by cell, without ever being summed into one matrix.

Cells of one family and one length share a matrix, so a bar costs a few matrices, and the product is one
batched call a run of cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stickout.fem.solid.slab import Assembly
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray

if TYPE_CHECKING:
    import scipy.sparse as sp

# Motions in either precision: nodal, shape (n_points, 3, n).
Motions = NDArray[np.floating[Any]]

# Cells taken in one call: few enough that what they move fits the processor's memory, many enough that
# the call itself costs nothing.
_AT_ONCE = 2048
# Lengths closer than this, relatively, are one.
_ALIKE = 1e-9


@dataclass(frozen=True)
class _Run:
    """Groups of nodes with their matrices: nodes (g, m, k), stiffness (g, 1, 3k, 3k), where the sums go."""

    nodes: IntArray
    stiffness: Motions
    targets: IntArray
    scatter: sp.csr_array

    def add(self, moved: Motions, force: Motions) -> None:
        """Add what the groups resist to the force; both nodal and flat, (n_points, 3n)."""
        groups, cells, k = self.nodes.shape
        columns = moved.shape[1] // 3
        u = moved[self.nodes].reshape(groups, cells, 3 * k, columns)
        f = np.matmul(self.stiffness, u).reshape(-1, 3 * columns)
        force[self.targets] += self.scatter @ f


class CellStiffness:
    """K times nodal motions.

    Parameters
    ----------
    runs
        Groups of nodes with their matrices.
    held
        Which components of which nodes are held still, shape (n_points, 3).
    """

    def __init__(self, runs: Sequence[_Run], held: BoolArray) -> None:
        self._runs, self._held = runs, held

    @property
    def n_bytes(self) -> int:
        """Return the memory the matrices take."""
        return sum(run.stiffness.nbytes for run in self._runs)

    def apply(self, moved: Motions) -> Motions:
        """Return the nodal forces that nodal motions meet, (n_points, 3, n); none where held."""
        flat = np.ascontiguousarray(moved).reshape(len(moved), -1)
        force = np.zeros_like(flat)
        for run in self._runs:
            run.add(flat, force)
        force.reshape(moved.shape)[self._held] = 0.0
        return force.reshape(moved.shape)

    def single(self) -> CellStiffness:
        """Return the same in single precision."""
        return CellStiffness(
            [
                _Run(r.nodes, r.stiffness.astype(np.float32), r.targets, r.scatter.astype(np.float32))
                for r in self._runs
            ],
            self._held,
        )


def cell_stiffness(assembly: Assembly) -> CellStiffness:
    """Return the stiffness of an assembly, ready to be applied.

    Parameters
    ----------
    assembly
        Cells, matrices, ties; the shifted part of the mass is in it.

    Returns
    -------
    CellStiffness
        In double precision.
    """
    first, groups = _groups(assembly)
    stiffness = assembly.stiffness(first)
    runs = []
    for size in np.unique([len(g) for g in groups]):
        alike = [n for n, g in enumerate(groups) if len(g) == size]
        step = max(1, _AT_ONCE // int(size))
        for start in range(0, len(alike), step):
            pick = alike[start : start + step]
            cells = np.array([groups[n] for n in pick])
            runs.append(_run(assembly.cells[cells], stiffness[pick][:, None]))
    runs += [_run(tie.nodes[:, None], tie.stiffness[:, None]) for tie in assembly.ties if len(tie.nodes)]
    return CellStiffness(runs, assembly.layout.place < 0)


def _groups(assembly: Assembly) -> tuple[IntArray, list[IntArray]]:
    """Return the first cell of each kind, and the cells of each kind, kinds in order along the bar."""
    matrices = assembly.matrices
    length = np.round(np.log(matrices.stretch) / _ALIKE).astype(np.int64)
    kinds = np.stack([matrices.family, length], axis=1)
    _, first, kind = np.unique(kinds, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(kind, kind="stable")
    groups = np.split(order, np.cumsum(np.bincount(kind.ravel()))[:-1])
    along = np.argsort(first)
    return first[along], [groups[n] for n in along]


def _run(nodes: IntArray, stiffness: FloatArray) -> _Run:
    """Return a run with the map that sums forces of groups up at their nodes."""
    targets, place = np.unique(nodes, return_inverse=True)
    return _Run(nodes, stiffness, targets, summing(place.ravel(), len(targets)))


def summing(place: IntArray, count: int) -> sp.csr_array:
    """Return the matrix that adds row i of an array to row ``place[i]`` of ``count`` rows."""
    from scipy.sparse import csr_array  # here: few bars are iterated

    order = np.argsort(place, kind="stable")
    start = np.concatenate([[0], np.cumsum(np.bincount(place, minlength=count))])
    return csr_array((np.ones(len(place)), order, start), shape=(count, len(place)))


def coarsened(stiffness: FloatArray, interpolation: FloatArray) -> FloatArray:
    """Return matrices (n, 3k, 3k) in the terms of fewer nodes, by an interpolation (k, j): (n, 3j, 3j)."""
    spread = np.kron(interpolation, np.eye(3))
    return np.asarray(np.matmul(spread.T, np.matmul(stiffness, spread)))
