"""The order of the unknowns: blocks along the bar, each coupled only to its neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh


@dataclass(frozen=True)
class Layout:
    """Where every free node's three unknowns stand.

    Attributes
    ----------
    block
        Block of every node, held or free, shape (n_points,).
    rank
        Place of every free node in the order of the unknowns, -1 for a held node, shape (n_points,);
        its unknowns are ``3*rank`` to ``3*rank + 2``.
    start
        First rank of each block, and the count of free nodes at the end, shape (n_blocks + 1,).
    forward
        Nodes at the end of each block that are coupled to the next one, shape (n_blocks,).
    """

    block: IntArray
    rank: IntArray
    start: IntArray
    forward: IntArray

    @property
    def n_unknowns(self) -> int:
        """Return the number of unknowns."""
        return 3 * int(self.start[-1])

    def gather(self, values: FloatArray) -> FloatArray:
        """Return nodal values (n_points, 3, n) as columns in the order of the unknowns (n_unknowns, n)."""
        out = np.empty((int(self.start[-1]), *values.shape[1:]))
        free = self.rank >= 0
        out[self.rank[free]] = values[free]
        return out.reshape(self.n_unknowns, -1)

    def spread(self, columns: FloatArray) -> FloatArray:
        """Return columns (n_unknowns, n) as nodal values (n_points, 3, n), zero at held nodes."""
        out = np.zeros((len(self.rank), 3, columns.shape[1]))
        free = self.rank >= 0
        out[free] = columns.reshape(-1, 3, columns.shape[1])[self.rank[free]]
        return out


def chain_layout(mesh: TaggedMesh, held: BoolArray, *, ties: Sequence[IntArray] = ()) -> Layout:
    """Return the order of the unknowns of a mesh.

    In a swept mesh a block is a plane of element corners with the plane of middles before it. Any
    other mesh is ordered by distance, in cells, from its far end.

    Parameters
    ----------
    mesh
        The mesh.
    held
        Nodes that are held still, shape (n_points,).
    ties
        Further groups of nodes that a stiffness couples, each of shape (n, k).

    Returns
    -------
    Layout
        Blocks, ranks and the nodes coupled forward.
    """
    groups = [mesh.cells, *ties]
    if np.all(mesh.family >= 0):
        plane = np.unique(np.round(mesh.points[:, 0] / np.ptp(mesh.points[:, 0]), 10), return_inverse=True)[1]
        block = (plane + 1) // 2
    else:
        block = _levels(mesh, groups)
    reach = np.zeros(len(block), dtype=np.int64)
    for group in groups:
        np.maximum.at(reach, group, block[group].max(axis=1, keepdims=True))
    ahead = reach > block
    free = np.flatnonzero(~held)
    order = free[np.lexsort((free, ahead[free], block[free]))]
    rank = np.full(len(block), -1)
    rank[order] = np.arange(len(order))
    n_blocks = int(block.max()) + 1
    start = np.concatenate([[0], np.cumsum(np.bincount(block[order], minlength=n_blocks))])
    forward = np.bincount(block[order], weights=ahead[order], minlength=n_blocks).astype(np.int64)
    return Layout(block, rank, start, forward)


def _levels(mesh: TaggedMesh, groups: Sequence[IntArray]) -> IntArray:
    """Return the distance of every node from an end of the mesh, in groups stepped over."""
    import scipy.sparse as sp
    from scipy.sparse.csgraph import breadth_first_order

    n = len(mesh.points)
    rows = np.concatenate([np.repeat(np.arange(len(g)) + k, g.shape[1]) for g, k in _numbered(groups)])
    nodes = np.concatenate([g.ravel() for g in groups])
    touch = sp.csr_array((np.ones(len(nodes)), (rows, nodes)), shape=(rows.max() + 1, n))
    near = (touch.T @ touch).tocsr()
    level = np.full(n, -1)
    start = int(np.argmin(mesh.points[:, 0]))
    for _ in range(2):
        order, parent = breadth_first_order(near, start, directed=False)
        level[:] = -1
        level[start] = 0
        for node in order[1:]:
            level[node] = level[parent[node]] + 1
        start = int(order[-1])
    if np.any(level < 0):
        # Loose parts stand side by side: each is a mesh of its own, put behind the others.
        rest = np.flatnonzero(level < 0)
        level[rest] = level.max() + 2
    return level


def _numbered(groups: Sequence[IntArray]) -> list[tuple[IntArray, int]]:
    """Return each group with the number of rows before it."""
    before = np.concatenate([[0], np.cumsum([len(g) for g in groups])])
    return list(zip(groups, before.tolist(), strict=False))
