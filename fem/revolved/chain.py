"""The sections of a bar joined by polynomials along it: factored cell by cell."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dpotrf, dtrsm
from stickout.fem.revolved.bar import Cells
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.revolved.section import ACROSS, ALONG, MASS, MIXED
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class _Run:
    """The cells along the bar that belong to one length.

    Attributes
    ----------
    first
        Number of the first of them.
    size
        Their lengths [m], shape (c,).
    at
        Which unknowns of the section they have.
    shares
        What regions and bed add, by name, (4, n, n) each.
    total
        Their sum.
    node
        Numbers of their nodes along the bar, shape (c, degree + 1).
    place
        Numbers of their unknowns in the chain, shape (c, (degree + 1) n), -1 where held.
    """

    first: int
    size: FloatArray
    at: IntArray | slice
    shares: Mapping[str, FloatArray]
    total: FloatArray
    node: IntArray
    place: IntArray

    def reduced(self, matrix: FloatArray) -> FloatArray:
        """Return matrices (..., N, N) over all unknowns of the section over those that the cells have."""
        if isinstance(self.at, slice):
            return matrix
        return np.asarray(matrix[..., self.at[:, None], self.at])


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

    def __init__(self, cells: Cells, shares: Sequence[Mapping[str, FloatArray]], *, held: bool) -> None:
        given = polynomials(cells.fine.along)
        # Integrals over a cell of length one.
        values, turned, mixed, slopes = np.tensordot(given.weights, given.products, axes=(0, 1))
        self._values, self._mixed, self._slopes = values, mixed, slopes
        self._tables = np.stack([slopes, mixed, turned, values])
        self._degree = cells.fine.along
        self.width = len(next(iter(shares[0].values()))[MASS])
        has = np.array([_present(one) for one in shares])
        self._here = _nodes_of(has[cells.length], self._degree)
        if held:
            self._here[0] = False
        place = np.where(self._here, np.cumsum(self._here).reshape(self._here.shape) - 1, -1)
        self.tip: IntArray = place[-1]
        self.n_unknowns = int(np.count_nonzero(self._here))
        self._at = np.flatnonzero(self._here)
        self._runs = list(_runs(cells, shares, has=has, place=place))
        self._bounds = self._bounds_of(len(cells.length))
        self.factor = self._factored()

    def _bounds_of(self, n_cells: int) -> list[tuple[int, int, int]]:
        """Return where each cell's own unknowns begin, where those that it shares with the next, and end."""
        counts = np.concatenate([[0], np.cumsum(np.count_nonzero(self._here, axis=1))])
        first = np.arange(n_cells) * self._degree
        begin, inner, end = counts[first], counts[first + self._degree], counts[first + self._degree + 1]
        inner[-1] = self.n_unknowns
        return list(zip(begin.tolist(), inner.tolist(), end.tolist(), strict=True))

    def _factored(self) -> list[tuple[FloatArray, FloatArray]]:
        """Return each cell's upper factor and its coupling to the next one."""
        out, carried = [], np.zeros((0, 0))
        for local, (begin, inner, _) in zip(self._stiffness(), self._bounds, strict=True):
            n = len(carried)
            local[:n, :n] += carried
            mine = inner - begin
            upper, fault = dpotrf(local[:mine, :mine].T, lower=0, clean=0)
            if fault:
                raise SolveError("The stiffness is not positive: the bar is all but loose in its grip.")
            coupled = dtrsm(1.0, upper, local[mine:, :mine].T, trans_a=1)
            carried = local[mine:, mine:] - coupled.T @ coupled
            out.append((upper, coupled))
        return out

    def _stiffness(self) -> Iterator[FloatArray]:
        """Yield the stiffness of every cell over its unknowns in the chain."""
        for run in self._runs:
            share = run.total
            section = np.stack([share[ALONG], share[MIXED], share[MIXED].T, share[ACROSS]])
            whole = self._tables[:, :, None, :, None] * section[:, None, :, None, :]
            n = run.place.shape[1]
            ones = np.ones_like(run.size)
            weight = np.stack([1 / run.size, ones, ones, run.size], axis=1)
            every = (weight @ whole.reshape(4, -1)).reshape(-1, n, n)
            for number, (local, place) in enumerate(zip(every, run.place, strict=True), run.first):
                begin, _, end = self._bounds[number]
                held = int(np.count_nonzero(place < 0))
                if held + end - begin == n:  # its unknowns are all there are, in order
                    yield local[held:, held:]
                    continue
                at = place[held:] - begin
                wide = np.zeros((end - begin, end - begin))
                wide[np.ix_(at, at)] = local[held:, held:]
                yield wide

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the inverse of the stiffness times columns, both of shape (n_unknowns, n)."""
        out = load.copy()
        for (begin, inner, end), (upper, coupled) in zip(self._bounds, self.factor, strict=True):
            mine = dtrsm(1.0, upper, out[begin:inner], trans_a=1)
            out[begin:inner] = mine
            out[inner:end] -= coupled.T @ mine
        for (begin, inner, end), (upper, coupled) in zip(self._bounds[::-1], self.factor[::-1], strict=True):
            rest = out[begin:inner] - coupled @ out[inner:end]
            out[begin:inner] = dtrsm(1.0, upper, rest)
        return out

    def mass(self, columns: FloatArray) -> FloatArray:
        """Return the mass times columns, both of shape (n_unknowns, n)."""
        return self._applied([(run, run.total[MASS]) for run in self._runs], MASS, columns)

    def term(
        self, matrices: Sequence[tuple[int, FloatArray]], which: int
    ) -> Callable[[FloatArray], FloatArray]:
        """Return what multiplies columns (n_unknowns, n) by a part of the stiffness, or by a mass.

        Parameters
        ----------
        matrices
            Numbers of lengths, each with a matrix over the unknowns of the section.
        which
            What the matrices are: ``ALONG``, ``MIXED``, ``ACROSS`` or ``MASS``.
        """
        runs = [(self._runs[number], self._runs[number].reduced(matrix)) for number, matrix in matrices]
        return partial(self._applied, runs, which)

    def _applied(
        self, runs: Sequence[tuple[_Run, FloatArray]], which: int, columns: FloatArray
    ) -> FloatArray:
        nodal = self.spread(columns)
        out = np.zeros_like(nodal)
        for run, matrix in runs:
            self._add(run, matrix, which, nodal=nodal, out=out)
        return self.gather(out)

    def _add(self, run: _Run, matrix: FloatArray, which: int, *, nodal: FloatArray, out: FloatArray) -> None:
        """Add what a length's cells make of motions at all nodes."""
        size = run.size[:, None, None]
        if which == MIXED:
            pairs = [(self._mixed, matrix), (self._mixed.T, matrix.T)]
        else:
            pairs = [(self._slopes / size if which == ALONG else self._values * size, matrix)]
        c, k = run.node.shape
        moved = nodal[run.node][:, :, run.at]
        flat = moved.reshape(c, k, -1)
        pushed = sum(one @ (table @ flat).reshape(moved.shape) for table, one in pairs)
        first, last = run.node[0, 0], run.node[-1, -1]
        # Neighbours share a node: the cells' first ones and middles, then their last ones.
        out[first:last].reshape(c, k - 1, *out.shape[1:])[:, :, run.at] += pushed[:, :-1]
        out[first + k - 1 : last + 1 : k - 1, run.at] += pushed[:, -1]

    def energies(self, columns: FloatArray) -> dict[str, FloatArray]:
        """Return the strain energy [J] of columns (n_unknowns, n) in every region and bed, (n,) each."""
        nodal = self.spread(columns)
        out: dict[str, FloatArray] = {}
        for run in self._runs:
            own = nodal[run.node][:, :, run.at]
            size = run.size[:, None, None]
            along, mixed, across = (
                np.matmul(table, own.reshape(*run.node.shape, -1)).reshape(own.shape)
                for table in (self._slopes / size, self._mixed, self._values * size)
            )
            for name, share in run.shares.items():
                force = share[ALONG] @ along + share[ACROSS] @ across + 2 * (share[MIXED] @ mixed)
                energy = 0.5 * np.einsum("cank,cank->k", own, force)
                out[name] = out[name] + energy if name in out else energy
        return out

    def spread(self, columns: FloatArray) -> FloatArray:
        """Return columns as values at all nodes along the bar, shape (n_nodes, n_section_unknowns, n)."""
        out = np.zeros((self._here.size, columns.shape[1]))
        out[self._at] = columns
        return out.reshape(*self._here.shape, -1)

    def gather(self, nodal: FloatArray) -> FloatArray:
        """Return columns from values at all nodes, the inverse of ``spread``."""
        return np.asarray(nodal.reshape(self._here.size, -1)[self._at])


def _nodes_of(has: BoolArray, degree: int) -> BoolArray:
    """Return which unknowns of the section every node along the bar has, from those of the cells."""
    n_cells, width = has.shape
    out = np.zeros((n_cells * degree + 1, width), dtype=bool)
    out[:-1] = np.repeat(has, degree, axis=0)
    out[degree::degree] |= has  # a face between two cells has the unknowns of both
    return out


def _runs(
    cells: Cells, shares: Sequence[Mapping[str, FloatArray]], *, has: BoolArray, place: IntArray
) -> Iterator[_Run]:
    """Yield the cells of every length."""
    degree = cells.fine.along
    size = np.diff(cells.x)
    for number, one in enumerate(shares):
        mine = np.flatnonzero(cells.length == number)
        own = np.flatnonzero(has[number])
        all_of_them = len(own) == has.shape[1]
        reduced = one if all_of_them else {n: s[:, own[:, None], own] for n, s in one.items()}
        node = mine[:, None] * degree + np.arange(degree + 1)
        yield _Run(
            first=int(mine[0]),
            size=size[mine],
            at=slice(None) if all_of_them else own,
            shares=reduced,
            total=np.asarray(sum(reduced.values())),
            node=node,
            place=place[node][:, :, own].reshape(len(mine), -1),
        )


def _present(shares: Mapping[str, FloatArray]) -> BoolArray:
    """Return whether a length has each unknown of the section."""
    mass = np.asarray(sum(share[MASS] for share in shares.values()))
    return np.asarray(mass.diagonal() > 0)
