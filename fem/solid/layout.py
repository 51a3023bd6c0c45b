"""The order of the unknowns: blocks along the bar, each coupled only to its neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

if TYPE_CHECKING:
    import scipy.sparse as sp


# A chain that runs across the bar is worth trying above this work (cubes of nodes, about ten ms of work), and
# taken where it leaves this part of it: its slabs are summed cell by cell, not once for every kind.
_WORTH_TURNING: Final = 5e6
_TURNED_GAINS: Final = 0.5


@dataclass(frozen=True)
class Layout:
    """Where every unknown stands.

    Attributes
    ----------
    block
        Block of every node, held or free, shape (n_points,).
    place
        Place of each displacement component of every node among the unknowns, -1 where it is held,
        shape (n_points, 3).
    start
        First unknown of each block, and the count of all at the end, shape (n_blocks + 1,).
    forward
        Unknowns at the end of each block that are coupled to the next one, shape (n_blocks,).
    """

    block: IntArray
    place: IntArray
    start: IntArray
    forward: IntArray

    @property
    def n_unknowns(self) -> int:
        """Return the number of unknowns."""
        return int(self.start[-1])

    def gather(self, values: FloatArray) -> FloatArray:
        """Return nodal values (n_points, 3, n) as columns in the order of the unknowns (n_unknowns, n)."""
        out = np.empty((self.n_unknowns, values.shape[2]))
        free = self.place >= 0
        out[self.place[free]] = values[free]
        return out

    def spread(self, columns: FloatArray) -> FloatArray:
        """Return columns (n_unknowns, n) as nodal values (n_points, 3, n), zero where held."""
        out = np.zeros((*self.place.shape, columns.shape[1]))
        free = self.place >= 0
        out[free] = columns[self.place[free]]
        return out

    def through(self, matrix: sp.csr_array, columns: FloatArray) -> FloatArray:
        """Return a matrix of nodes (n_points, n_points), alike for x, y and z, times columns."""
        moved = self.spread(columns)
        return self.gather(np.asarray(matrix @ moved.reshape(len(moved), -1)).reshape(moved.shape))


def chain_layout(
    mesh: TaggedMesh,
    held: BoolArray,
    *,
    ties: Sequence[IntArray] = (),
    planes: int = 2,
    start: IntArray | None = None,
) -> Layout:
    """Return the order of the unknowns of a mesh.

    In a swept mesh a block is a plane of element corners with the plane of middles before it: across the
    bar, or along it where cells lie in such planes too and that leaves the narrower blocks. Any other mesh
    is ordered by distance, in cells, from its far end.

    Parameters
    ----------
    mesh
        The mesh.
    held
        Components that are held still, shape (n_points, 3).
    ties
        Further groups of nodes that a stiffness couples, each of shape (n, k).
    planes
        Planes of nodes from one plane of corners to the next: 2 with middles, 1 with corners only.
    start
        Nodes from which the blocks of a swept mesh may be counted, cell by cell, where that leaves narrower
        ones than planes do.

    Returns
    -------
    Layout
        Blocks, places and the unknowns coupled forward.
    """
    groups = [mesh.cells, *ties]
    block = _swept(mesh, groups, planes=planes) if np.all(mesh.family >= 0) else _levels(mesh, groups)
    if start is not None and _work(other := _counted_from(start, groups, len(block))) < _work(block):
        block = other
    reach = np.zeros(len(block), dtype=np.int64)
    for group in groups:
        np.maximum.at(reach, group, block[group].max(axis=1, keepdims=True))
    ahead = reach > block
    node, component = np.nonzero(~held)
    order = np.lexsort((component, node, ahead[node], block[node]))
    place = np.full(held.shape, -1)
    place[node[order], component[order]] = np.arange(len(order))
    n_blocks = int(block.max()) + 1
    start = np.concatenate([[0], np.cumsum(np.bincount(block[node], minlength=n_blocks))])
    forward = np.bincount(block[node], weights=ahead[node], minlength=n_blocks).astype(np.int64)
    return Layout(block, place, start, forward)


def _swept(mesh: TaggedMesh, groups: Sequence[IntArray], *, planes: int) -> IntArray:
    """Return the blocks of a swept mesh, planes across the bar unless others leave far less work."""
    block = _planes(mesh.points[:, 0], planes)
    work = _work(block)
    if work < _WORTH_TURNING:
        return block
    for axis in (1, 2):
        other = _planes(mesh.points[:, axis], planes)
        if _work(other) < _TURNED_GAINS * work and all(_neighbours(other[group]) for group in groups):
            block, work = other, _work(other)
    return block


def _planes(at: FloatArray, planes: int) -> IntArray:
    """Return the block of every node by its place along one axis."""
    plane = np.unique(np.round(at / np.ptp(at), 10), return_inverse=True)[1]
    return np.asarray((plane + planes - 1) // planes)


def _work(block: IntArray) -> float:
    """Return what a factor's work goes by: the sum of the cubes of the blocks' nodes."""
    return float((np.bincount(block).astype(float) ** 3).sum())


def _neighbours(blocks: IntArray) -> bool:
    """Return whether every group, a row of blocks, lies in one block or in two neighbouring ones."""
    return bool(np.all(blocks.max(axis=1) - blocks.min(axis=1) <= 1))


def _counted_from(start: IntArray, groups: Sequence[IntArray], n_points: int) -> IntArray:
    """Return how many groups every node lies away from some nodes."""
    level = np.full(n_points, -1)
    level[start] = 0
    fresh = start
    while len(fresh):
        reached = np.zeros(n_points, dtype=bool)
        for group in groups:
            reached[group[(level[group] == level[fresh[0]]).any(axis=1)]] = True
        fresh = np.flatnonzero(reached & (level < 0))
        level[fresh] = level.max() + 1
    return level


def _levels(mesh: TaggedMesh, groups: Sequence[IntArray]) -> IntArray:
    """Return the distance of every node from an end of the mesh, in groups stepped over."""
    import scipy.sparse as sp
    from scipy.sparse.csgraph import breadth_first_order

    n = len(mesh.points)
    before = np.concatenate([[0], np.cumsum([len(g) for g in groups])])
    rows = [np.repeat(np.arange(len(g)) + b, g.shape[1]) for g, b in zip(groups, before, strict=False)]
    nodes = np.concatenate([g.ravel() for g in groups])
    touch = sp.csr_array((np.ones(len(nodes)), (np.concatenate(rows), nodes)), shape=(before[-1], n))
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
    # What no group connects stands by itself, behind the rest.
    level[level < 0] = level.max() + 2
    return level
