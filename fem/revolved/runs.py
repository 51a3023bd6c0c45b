"""The cells along a bar of revolution that belong to one length, and their unknowns in the whole chain."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stickout.fem.revolved.cells import Cells
from stickout.meshes.tagged import FloatArray

# What gives the unknowns of a length's end from those of its face; None where they are the same.
Joint = FloatArray | None


@dataclass(frozen=True)
class Run:
    """The cells along the bar that belong to one length.

    Attributes
    ----------
    first
        Number of the first of them.
    size
        Their lengths [m], shape (c,).
    degree
        Degree of the polynomials along them.
    shares
        What regions and bed add, by name, (4, n, n) each.
    total
        Their sum.
    ends
        Where the unknowns of the first face, of the planes between and of the last face begin, and end.
    joints
        What gives the unknowns of the section at the first face, and at the last.
    """

    first: int
    size: FloatArray
    degree: int
    shares: Mapping[str, FloatArray]
    total: FloatArray
    ends: tuple[int, int, int, int]
    joints: tuple[Joint, Joint]

    @property
    def width(self) -> int:
        """Return how many unknowns its sections have."""
        return int(self.total.shape[-1])

    def bounds(self) -> Iterator[tuple[int, int, int]]:
        """Yield where each cell's unknowns begin, where those that it shares with the next, and end."""
        first, between, last, end = self.ends
        step = self.degree * self.width
        cuts = [first, *(between - self.width + step * n for n in range(1, len(self.size))), last]
        for begin, inner in pairwise(cuts):
            yield begin, inner, end if inner == last else inner + self.width

    def spread(self, columns: FloatArray) -> FloatArray:
        """Return columns as values on the planes of its nodes, shape (n_planes, n_section_unknowns, n)."""
        first, between, last, end = self.ends
        if all(joint is None for joint in self.joints):
            return columns[first:end].reshape(-1, self.width, columns.shape[1])
        out = np.empty((len(self.size) * self.degree + 1, self.width, columns.shape[1]))
        out[0] = _joined(self.joints[0], columns[first:between])
        out[1:-1] = columns[between:last].reshape(-1, *out.shape[1:])
        out[-1] = _joined(self.joints[1], columns[last:end])
        return out

    def add(self, nodal: FloatArray, out: FloatArray) -> None:
        """Add values on the planes of its nodes to columns, as forces: the transpose of ``spread``."""
        first, between, last, end = self.ends
        out[first:between] += _joined(_turned(self.joints[0]), nodal[0])
        out[between:last] += nodal[1:-1].reshape(-1, nodal.shape[-1])
        out[last:end] += _joined(_turned(self.joints[1]), nodal[-1])

    def cells(self, nodal: FloatArray) -> FloatArray:
        """Return values on planes cell by cell, shape (c, degree + 1, n_section_unknowns, n)."""
        planes = np.arange(len(self.size))[:, None] * self.degree + np.arange(self.degree + 1)
        return np.asarray(nodal[planes])

    def onto_faces(self, matrix: FloatArray, number: int) -> FloatArray:
        """Return the symmetric matrix of one of its cells over unknowns of the chain."""
        first = self.joints[0] if number == 0 else None
        last = self.joints[1] if number == len(self.size) - 1 else None
        if first is None and last is None:
            return matrix
        n = self.width
        for _ in range(2):  # rows, then columns
            ends = _joined(_turned(first), matrix[:n]), _joined(_turned(last), matrix[-n:])
            matrix = np.concatenate([ends[0], matrix[n:-n], ends[1]]).T
        return matrix.T


def _joined(joint: Joint, given: FloatArray) -> FloatArray:
    return given if joint is None else joint @ given


def _turned(joint: Joint) -> Joint:
    return None if joint is None else joint.T


def runs_of(
    cells: Cells,
    shares: Sequence[Mapping[str, FloatArray]],
    *,
    joints: Sequence[tuple[Joint, Joint]],
    held: bool,
) -> Iterator[Run]:
    """Yield the cells of every length.

    Parameters
    ----------
    cells, shares, joints, held
        As ``Chain`` takes them.
    """
    degree, size = cells.fine.along, np.diff(cells.x)
    total = [np.asarray(sum(one.values())) for one in shares]
    # A face that is held has no unknowns.
    start = np.zeros((total[0].shape[-1], 0)) if held else None
    ends = [(None, start), *joints, (None, None)]
    at = 0
    for number, one in enumerate(shares):
        mine = np.flatnonzero(cells.length == number)
        own, width = (ends[number][1], ends[number + 1][0]), total[number].shape[-1]
        between = at + (width if own[0] is None else own[0].shape[1])
        last = between + (len(mine) * degree - 1) * width
        end = last + (width if own[1] is None else own[1].shape[1])
        yield Run(
            first=int(mine[0]),
            size=size[mine],
            degree=degree,
            shares=one,
            total=total[number],
            ends=(at, between, last, end),
            joints=own,
        )
        at = last
