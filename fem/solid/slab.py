"""Slabs of the chain: the cells between two neighbouring blocks, summed into three dense matrices.

Slabs of equal pattern and equal families differ only by their length along x, so each kind is summed
once and then scaled.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from stickout.fem.solid.elasticity import CellMatrices
from stickout.fem.solid.layout import Layout
from stickout.meshes.tagged import FloatArray, IntArray

_ALIKE = 1e-9
# Numbers in a slab above which its kind is not kept: factoring then costs far more than summing.
_LARGE = 2_000_000


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


@dataclass(frozen=True)
class Assembly:
    """What the chain is summed from.

    Attributes
    ----------
    cells
        Nodes of the cells, shape (n_cells, 20); of their corners alone in a coarse bar, (n_cells, 8).
    matrices
        Their element matrices.
    ties
        Further stiffness.
    layout
        The order of the unknowns.
    mass_shift
        How much of the cells' mass is added to the stiffness [1/s^2].
    """

    cells: IntArray
    matrices: CellMatrices
    ties: Sequence[Ties]
    layout: Layout
    mass_shift: float = 0.0

    def stiffness(self, picked: IntArray) -> FloatArray:
        """Return the stiffness of some cells plus the shifted part of their mass, shape (n, 3k, 3k)."""
        matrices = self.matrices
        k = matrices.stiffness(picked)
        if self.mass_shift:
            stretch = matrices.stretch[picked][:, None, None]
            mass = matrices.mass[matrices.family[picked]] * (self.mass_shift * stretch)
            for i in range(3):
                k[:, i::3, i::3] += mass
        return k


def slabs(assembly: Assembly) -> Iterator[tuple[FloatArray, FloatArray, FloatArray]]:
    """Yield for every block its own stiffness, its coupling to the next, and what is added to the next.

    Parameters
    ----------
    assembly
        Cells, matrices, ties and the order of the unknowns.

    Yields
    ------
    tuple of ndarray
        Shapes (own, own), (next, forward) and (next, next), in unknowns, column-major. Good until the slab
        after the next: two arrays serve all, since first use of memory costs more than the sum itself.
    """
    layout = assembly.layout
    n_blocks = len(layout.start) - 1
    shapes = [Shape.of(layout, b) for b in range(n_blocks)]
    room = np.empty((2, max((shape.size for shape in shapes), default=0)))
    slab = layout.block[assembly.cells].min(axis=1)
    order = np.argsort(slab, kind="stable")
    bounds = np.searchsorted(slab[order], np.arange(len(layout.start)))
    tie_slabs = [layout.block[t.nodes].min(axis=1) for t in assembly.ties]
    kinds: dict[bytes, FloatArray] = {}
    for b, shape in enumerate(shapes):
        flat = room[b % 2, : shape.size]
        _sum_into(flat, assembly, shape=shape, picked=order[bounds[b] : bounds[b + 1]], kinds=kinds)
        for tie, of in zip(assembly.ties, tie_slabs, strict=True):
            mine = of == b
            if mine.any():
                flat += shape.scatter(layout, tie.nodes[mine], matrices=tie.stiffness[mine])
        yield shape.split(flat)


def _sum_into(
    flat: FloatArray, assembly: Assembly, *, shape: Shape, picked: IntArray, kinds: dict[bytes, FloatArray]
) -> None:
    """Put the slab's stiffness into an array, from the sum of its kind when its cells are stretched alike."""
    if not len(picked):
        flat[:] = 0.0
        return
    matrices, layout, cells = assembly.matrices, assembly.layout, assembly.cells[picked]
    family, stretch = matrices.family[picked], matrices.stretch[picked]
    unlike = np.ptp(stretch) > _ALIKE * stretch[0]
    if unlike or assembly.mass_shift or shape.size > _LARGE:
        flat[:] = shape.scatter(layout, cells, matrices=assembly.stiffness(picked))
        return
    place = np.maximum(layout.place[cells] - layout.start[shape.block], -1)
    key = b"".join([shape.key(), family.tobytes(), place.tobytes()])
    if key not in kinds:
        index = shape.index(layout, cells)
        parts = (matrices.along, matrices.mixed, matrices.across)
        kinds[key] = np.empty((3, shape.size))
        for total, part in zip(kinds[key], parts, strict=True):
            total[:] = shape.sum(index, part[family])
    s = float(stretch[0])
    np.dot(np.array([1 / s, 1.0, s]), kinds[key], out=flat)


@dataclass(frozen=True)
class Shape:
    """Sizes, in unknowns, of two neighbouring blocks, and how their matrices lie in one flat array."""

    block: int
    own: int
    forward: int
    next: int

    @staticmethod
    def of(layout: Layout, block: int) -> Shape:
        """Return the shape of a block and its follower, which the last block lacks."""
        start = layout.start
        last = block + 2 == len(start)
        follow = 0 if last else int(start[block + 2] - start[block + 1])
        own = int(start[block + 1] - start[block])
        return Shape(block, own, int(layout.forward[block]), follow)

    @property
    def size(self) -> int:
        """Return the length of the flat array."""
        return self.own**2 + self.next * self.forward + self.next**2

    def key(self) -> bytes:
        """Return the sizes as a key."""
        return f"{self.own},{self.forward},{self.next};".encode()

    def split(self, flat: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the three matrices as views of the flat array."""
        a, b = self.own**2, self.own**2 + self.next * self.forward
        return (
            flat[:a].reshape((self.own, self.own), order="F"),
            flat[a:b].reshape((self.next, self.forward), order="F"),
            flat[b:].reshape((self.next, self.next), order="F"),
        )

    def scatter(self, layout: Layout, nodes: IntArray, *, matrices: FloatArray) -> FloatArray:
        """Return the flat sum of matrices of groups of nodes, rows and columns node, xyz.

        Parameters
        ----------
        layout
            The order of the unknowns.
        nodes
            Nodes of each group, all in this block or the next, shape (n, k).
        matrices
            Shape (n, 3k, 3k).

        Returns
        -------
        ndarray
            Shape (size,).
        """
        return self.sum(self.index(layout, nodes), matrices)

    def sum(self, index: IntArray, matrices: FloatArray) -> FloatArray:
        """Return the flat sum of matrices whose entries go to the places ``index`` tells, shape (size,)."""
        flat = np.bincount(index.ravel(), matrices.ravel(), minlength=self.size + 1)[:-1]
        return np.asarray(flat, dtype=float)

    def index(self, layout: Layout, nodes: IntArray) -> IntArray:
        """Return the place in the flat array of every entry of the groups' matrices, shape (n, 3k, 3k).

        What is held, or stands in the transposed coupling, goes to one spare place at the end.
        """
        place = layout.place[nodes].reshape(len(nodes), -1)
        free = place >= 0
        ahead = np.repeat(layout.block[nodes] > self.block, 3, axis=1)
        local = place - int(layout.start[self.block])
        row, column = local[:, :, None], local[:, None, :]
        down, right = ahead[:, :, None], ahead[:, None, :]
        after = self.own**2 + self.next * self.forward
        between = self.own**2 + (row - self.own) + (column - self.own + self.forward) * self.next
        following = after + (row - self.own) + (column - self.own) * self.next
        index = np.where(down, np.where(right, following, between), row + column * self.own)
        keep = free[:, :, None] & free[:, None, :] & (down | ~right)
        return np.where(keep, index, self.size)
