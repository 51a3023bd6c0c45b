"""The sections of a bar joined by polynomials along it: factored cell by cell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

import numpy as np
from scipy.linalg.blas import dtrsm
from scipy.linalg.lapack import dpotrf

from stickout.fem.errors import SolveError
from stickout.fem.revolved.bar import Cells
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.revolved.section import Share
from stickout.meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class _Cell:
    """A cell along the bar.

    Attributes
    ----------
    size
        Its length [m].
    own
        Unknowns of the section that it has, shape (n,).
    shares
        What regions and bed add to it, by name, reduced to those.
    total
        Their sum.
    place
        Number of each of its unknowns in the chain, shape (degree + 1, n), -1 where held.
    begin, inner, end
        Its own unknowns of the chain from ``begin`` to ``inner``, shared with the next one up to ``end``.
    """

    size: float
    own: IntArray
    shares: Mapping[str, Share]
    total: Share
    place: IntArray
    begin: int
    inner: int
    end: int


class Chain:
    """Stiffness and mass of one order of the series, and what solves with them.

    Parameters
    ----------
    cells
        The cells.
    shares
        What regions and bed add to the section of every length, by name.
    held
        Whether the first face is held still.

    Raises
    ------
    SolveError
        The stiffness is not positive.
    """

    def __init__(self, cells: Cells, shares: Sequence[Mapping[str, Share]], *, held: bool) -> None:
        given = polynomials(cells.fine.along)
        weighted = given.weights[:, None]
        self._slopes = given.slopes.T @ (weighted * given.slopes)
        self._mixed = given.slopes.T @ (weighted * given.values)
        self._values = given.values.T @ (weighted * given.values)
        self.width = len(next(iter(shares[0].values())).mass)
        self._cells = list(_laid(cells, shares, held=held, width=self.width))
        self.n_unknowns = self._cells[-1].end
        last = self._cells[-1]
        self.tip = np.full(self.width, -1)
        self.tip[last.own] = last.place[-1]
        self._factor = self._factored()

    def _factored(self) -> list[tuple[FloatArray, FloatArray]]:
        """Return each cell's upper factor and its coupling to the next one."""
        out, carried = [], np.zeros((0, 0))
        for cell in self._cells:
            local = self._stiffness(cell)
            n = len(carried)
            local[:n, :n] += carried
            mine = cell.inner - cell.begin
            upper, fault = dpotrf(local[:mine, :mine].T, lower=0, clean=0)
            if fault:
                raise SolveError("The stiffness is not positive: the bar is all but loose in its grip.")
            coupled = dtrsm(1.0, upper, local[mine:, :mine].T, trans_a=1)
            carried = local[mine:, mine:] - coupled.T @ coupled
            out.append((upper, coupled))
        return out

    def _stiffness(self, cell: _Cell) -> FloatArray:
        """Return the stiffness of a cell over its unknowns in the chain."""
        share = cell.total
        mixed = self._mixed[:, None, :, None] * share.mixed[None, :, None, :]
        whole = mixed + mixed.transpose(2, 3, 0, 1)
        whole += (self._slopes / cell.size)[:, None, :, None] * share.along[None, :, None, :]
        whole += (self._values * cell.size)[:, None, :, None] * share.across[None, :, None, :]
        n = cell.place.size
        whole = whole.reshape(n, n)
        at = cell.place.ravel() - cell.begin
        held = int(np.count_nonzero(at + cell.begin < 0))
        if held + cell.end - cell.begin == n:  # its unknowns are all there are, in order
            return whole[held:, held:]
        local = np.zeros((cell.end - cell.begin,) * 2)
        local[np.ix_(at[held:], at[held:])] = whole[held:, held:]
        return local

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the inverse of the stiffness times columns, both of shape (n_unknowns, n)."""
        out = load.copy()
        for cell, (upper, coupled) in zip(self._cells, self._factor, strict=True):
            mine = dtrsm(1.0, upper, out[cell.begin : cell.inner], trans_a=1)
            out[cell.begin : cell.inner] = mine
            out[cell.inner : cell.end] -= coupled.T @ mine
        for cell, (upper, coupled) in zip(self._cells[::-1], self._factor[::-1], strict=True):
            rest = out[cell.begin : cell.inner] - coupled @ out[cell.inner : cell.end]
            out[cell.begin : cell.inner] = dtrsm(1.0, upper, rest)
        return out

    def mass(self, columns: FloatArray) -> FloatArray:
        """Return the mass times columns, both of shape (n_unknowns, n)."""
        out = np.zeros((self.n_unknowns + 1, columns.shape[1]))
        moved = np.concatenate([columns, np.zeros((1, columns.shape[1]))])
        for cell in self._cells:
            own = moved[cell.place]
            pushed = ((self._values * cell.size) @ own.reshape(len(own), -1)).reshape(own.shape)
            out[cell.place] += np.matmul(cell.total.mass, pushed)
        return out[:-1]

    def energies(self, columns: FloatArray) -> dict[str, FloatArray]:
        """Return the strain energy [J] of columns (n_unknowns, n) in every region and bed, (n,) each."""
        moved = np.concatenate([columns, np.zeros((1, columns.shape[1]))])
        out: dict[str, FloatArray] = {}
        for cell in self._cells:
            own = moved[cell.place]
            along, mixed, across = (
                np.tensordot(one, own, axes=1)
                for one in (self._slopes / cell.size, self._mixed, self._values * cell.size)
            )
            for name, share in cell.shares.items():
                force = share.along @ along + share.across @ across + 2 * (share.mixed @ mixed)
                energy = 0.5 * np.einsum("ank,ank->k", own, force)
                out[name] = out[name] + energy if name in out else energy
        return out

    def spread(self, columns: FloatArray) -> FloatArray:
        """Return columns as values at all nodes along the bar, shape (n_nodes, n_section_unknowns, n)."""
        degree = self._cells[0].place.shape[0] - 1
        moved = np.concatenate([columns, np.zeros((1, columns.shape[1]))])
        out = np.zeros((len(self._cells) * degree + 1, self.width, columns.shape[1]))
        for number, cell in enumerate(self._cells):
            first = number * degree
            out[first : first + degree + 1, cell.own] = moved[cell.place]
        return out

    def gather(self, nodal: FloatArray) -> FloatArray:
        """Return columns from values at all nodes, the inverse of ``spread``."""
        degree = self._cells[0].place.shape[0] - 1
        out = np.zeros((self.n_unknowns + 1, nodal.shape[2]))
        for number, cell in enumerate(self._cells):
            out[cell.place] = nodal[number * degree : (number + 1) * degree + 1, cell.own]
        return out[:-1]


def _laid(cells: Cells, shares: Sequence[Mapping[str, Share]], *, held: bool, width: int) -> list[_Cell]:
    """Return the cells along the bar with their unknowns numbered one after the other."""
    degree = cells.fine.along
    own = [_present(one) for one in shares]
    reduced = [
        {name: _reduced(share, mine, width) for name, share in one.items()}
        for one, mine in zip(shares, own, strict=True)
    ]
    total = [reduce(add, one.values()) for one in reduced]
    mine = [own[number] for number in cells.length]
    # A face between two cells has the unknowns of both.
    faces = [np.union1d(a, b) for a, b in zip([mine[0], *mine], [*mine, mine[-1]], strict=True)]
    if held:
        faces[0] = np.zeros(0, dtype=np.int64)
    out, begin = [], 0
    for number, (one, size) in enumerate(zip(mine, np.diff(cells.x), strict=True)):
        left, right = faces[number], faces[number + 1]
        inside = begin + len(left) + np.arange((degree - 1) * len(one)).reshape(degree - 1, -1)
        inner = begin + len(left) + inside.size
        place = np.full((degree + 1, len(one)), -1)
        place[1:-1] = inside
        for row, face, start in ((0, left, begin), (-1, right, inner)):
            if len(face):
                place[row] = start + np.searchsorted(face, one)
        end = inner + len(right)
        kind = int(cells.length[number])
        last = number == len(mine) - 1
        out.append(
            _Cell(float(size), one, reduced[kind], total[kind], place, begin, end if last else inner, end)
        )
        begin = inner
    return out


def _present(shares: Mapping[str, Share]) -> IntArray:
    """Return the unknowns of a section that a length has."""
    total = np.sum([np.diag(share.mass) for share in shares.values()], axis=0)
    return np.flatnonzero(total)


def _reduced(share: Share, own: IntArray, width: int) -> Share:
    """Return a share over some of the unknowns."""
    if len(own) == width:
        return share
    at = np.ix_(own, own)
    return Share(share.along[at], share.mixed[at], share.across[at], share.mass[at])
