"""The sections of a bar joined by polynomials along it: factored cell by cell."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from itertools import pairwise

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dpotrf, dtrsm
from stickout.fem.revolved.cells import Cells
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.revolved.runs import Joint, Run, runs_of
from stickout.fem.revolved.section import ACROSS, ALONG, MASS, MIXED
from stickout.meshes.tagged import FloatArray


class Chain:
    """Stiffness and mass of one order of the series, and what solves with them.

    Parameters
    ----------
    cells
        The cells.
    shares
        What regions and bed add to the section of every length, by name.
    joints
        For every face between two lengths, what gives the unknowns of either from those of the face.
    held
        Whether the first face is held still.

    Raises
    ------
    SolveError
        The stiffness is not positive.
    """

    def __init__(
        self,
        cells: Cells,
        shares: Sequence[Mapping[str, FloatArray]],
        joints: Sequence[tuple[Joint, Joint]],
        *,
        held: bool,
    ) -> None:
        given = polynomials(cells.fine.along)
        # Integrals over a cell of length one.
        values, turned, mixed, slopes = np.tensordot(given.weights, given.products, axes=(0, 1))
        self._values, self._mixed, self._slopes = values, mixed, slopes
        self._tables = np.stack([slopes, mixed, turned, values])
        self._degree = cells.fine.along
        self.runs = list(runs_of(cells, shares, joints=joints, held=held))
        self.n_unknowns = self.runs[-1].ends[-1]
        self._bounds = [one for run in self.runs for one in run.bounds()]
        # The last face is shared with none.
        self._bounds[-1] = (self._bounds[-1][0], self.n_unknowns, self.n_unknowns)
        self.factor = self._factored()

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
        for run in self.runs:
            share = run.total
            section = np.stack([share[ALONG], share[MIXED], share[MIXED].T, share[ACROSS]])
            whole = self._tables[:, :, None, :, None] * section[:, None, :, None, :]
            ones = np.ones_like(run.size)
            weight = np.stack([1 / run.size, ones, ones, run.size], axis=1)
            n = (run.degree + 1) * run.width
            every = (weight @ whole.reshape(4, -1)).reshape(-1, n, n)
            for number, local in enumerate(every):
                yield run.onto_faces(local, number)

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
        return self._applied([(run, run.total[MASS]) for run in self.runs], MASS, columns)

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
        runs = [(self.runs[number], matrix) for number, matrix in matrices]
        return partial(self._applied, runs, which)

    def _applied(self, runs: Sequence[tuple[Run, FloatArray]], which: int, columns: FloatArray) -> FloatArray:
        out = np.zeros_like(columns)
        for run, matrix in runs:
            run.add(self._pushed(run, matrix, which, nodal=run.spread(columns)), out)
        return out

    def _pushed(self, run: Run, matrix: FloatArray, which: int, *, nodal: FloatArray) -> FloatArray:
        """Return what a length's cells make of motions on its planes."""
        size = run.size[:, None, None]
        if which == MIXED:
            pairs = [(self._mixed, matrix), (self._mixed.T, matrix.T)]
        else:
            pairs = [(self._slopes / size if which == ALONG else self._values * size, matrix)]
        moved = run.cells(nodal)
        c, k = moved.shape[:2]
        flat = moved.reshape(c, k, -1)
        pushed = sum(one @ (table @ flat).reshape(moved.shape) for table, one in pairs)
        # Neighbours share a plane: the cells' first ones and middles, then their last ones.
        out = np.zeros_like(nodal)
        out[:-1] = pushed[:, :-1].reshape(-1, *nodal.shape[1:])
        out[k - 1 :: k - 1] += pushed[:, -1]
        return out

    def energies(self, columns: FloatArray) -> dict[str, FloatArray]:
        """Return the strain energy [J] of columns (n_unknowns, n) in every region and bed, (n,) each."""
        out: dict[str, FloatArray] = {}
        for run, nodal in zip(self.runs, self.spread(columns), strict=True):
            own = run.cells(nodal)
            size = run.size[:, None, None]
            along, mixed, across = (
                np.matmul(table, own.reshape(*own.shape[:2], -1)).reshape(own.shape)
                for table in (self._slopes / size, self._mixed, self._values * size)
            )
            for name, share in run.shares.items():
                force = share[ALONG] @ along + share[ACROSS] @ across + 2 * (share[MIXED] @ mixed)
                energy = 0.5 * np.einsum("cank,cank->k", own, force)
                out[name] = out[name] + energy if name in out else energy
        return out

    def spread(self, columns: FloatArray) -> list[FloatArray]:
        """Return columns as values on the planes of every length, (n_planes, n_section_unknowns, n) each."""
        return [run.spread(columns) for run in self.runs]

    def loads(self, number: int, *, along: FloatArray, across: FloatArray) -> FloatArray:
        """Return forces spread over the sections of a length, shape (n_unknowns, n).

        Parameters
        ----------
        number
            Number of the length.
        along
            How much of them each plane of its nodes has, shape (n_planes,).
        across
            What they are over the unknowns of a section, shape (n_section, n).
        """
        out = np.zeros((self.n_unknowns, across.shape[1]))
        self.runs[number].add(along[:, None, None] * across, out)
        return out

    def shaped(
        self, along: FloatArray, *, sections: Sequence[FloatArray], faces: Sequence[FloatArray]
    ) -> FloatArray:
        """Return motions that are products of one along the bar and one across it, shape (n_unknowns, n).

        Parameters
        ----------
        along
            Values on all planes of nodes along the bar, shape (n_planes, n).
        sections, faces
            Unknowns across the sections of every length, and across the faces between them.
        """
        out = np.zeros((self.n_unknowns, along.shape[1]))
        ends = [sections[0], *faces, sections[-1]]
        for run, across, (left, right) in zip(self.runs, sections, pairwise(ends), strict=True):
            first, between, last, end = run.ends
            plane = run.first * run.degree
            own = along[plane : plane + len(run.size) * run.degree + 1]
            if between > first:
                out[first:between] = np.outer(left, own[0])
            out[between:last] = (own[1:-1, None, :] * across[:, None]).reshape(-1, along.shape[1])
            out[last:end] = np.outer(right, own[-1])
        return out
