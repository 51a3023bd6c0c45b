"""The lowest modes by block inverse iteration over a growing, mass-orthogonal space.

A block of start shapes finds repeated frequencies that a single start vector would miss; with bar-like
shapes among them three or four solves suffice. The start is fixed: same input, same output.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dsyevd
from stickout.meshes.tagged import FloatArray

Operator = Callable[[FloatArray], FloatArray]

_MOST_BLOCKS = 60
# Eigenvalues nearer than that are twins, either of which may be the last.
_TWINS = 1e-3


class Eigenpairs(NamedTuple):
    """Eigenvalues [1/s^2], rising, (n,); mass-normalised shapes, (n_unknowns, n); residuals, (n,)."""

    values: FloatArray
    shapes: FloatArray
    residuals: FloatArray


class BlockIteration:
    """The lowest eigenpairs of ``K v = value M v`` above ``-shift``; asked for more, it goes on from there.

    Parameters
    ----------
    solve
        Applies the inverse of ``K + shift M`` to columns (n_unknowns, n).
    mass
        Applies M to columns.
    start
        Start columns, shape (n_unknowns, n_start); as many as the highest multiplicity, or more.
    shift
        The shift in ``solve`` [1/s^2].
    tolerance
        Greatest relative error of an eigenvalue, from the residual's square.
    solved
        Whether the start columns are answers to loads already, near the lowest shapes.

    Source
    ------
    Golub & Van Loan, Matrix Computations, block Lanczos with full orthogonalisation (recalled, not opened).
    """

    def __init__(
        self,
        solve: Operator,
        mass: Operator,
        *,
        start: FloatArray,
        shift: float = 0.0,
        tolerance: float = 1e-7,
        solved: bool = False,
    ) -> None:
        self._solve, self._mass = solve, mass
        self._shift, self._tolerance = shift, tolerance
        first = start if solved else solve(mass(start))
        self._block, self._mass_block, _ = orthonormal(first, mass(first))
        self._basis = self._mass_basis = np.empty((len(start), 0))
        # The operator in the basis, and the Gram matrix of what it makes of the last block outside it.
        self._inner, self._rest = np.zeros((0, 0)), np.zeros((0, 0))

    def lowest(self, wanted: int) -> Eigenpairs:
        """Return the lowest pairs.

        Parameters
        ----------
        wanted
            How many; fewer come back only when there are no more unknowns.

        Returns
        -------
        Eigenpairs
            With the M-norm of each relative residual.

        Raises
        ------
        SolveError
            The iteration did not converge; the text says how many did.
        """
        for _ in range(_MOST_BLOCKS):
            if len(self._inner) >= min(wanted, len(self._basis)) or not self._block.shape[1]:
                pairs = self._pairs(wanted)
                if not self._block.shape[1] or self._are_lowest(pairs):
                    return pairs
            self._grow()
        done = int(np.sum(pairs.residuals**2 < self._tolerance))
        raise SolveError(
            f"{done} of {wanted} modes converged, worst relative residual {pairs.residuals.max():.1e}. "
            "Ask for fewer modes, or stiffen a grip that is almost loose."
        )

    def _are_lowest(self, pairs: Eigenpairs) -> bool:
        """Return whether pairs have converged, and none below their last is likely to be hidden still."""
        if not np.all(pairs.residuals**2 < self._tolerance):
            return False
        last = pairs.values[-1] + self._shift
        return bool(self.beyond(len(pairs.values)) + self._shift >= last * (1 - _TWINS))

    def beyond(self, found: int) -> float:
        """Return a value below which no more pairs than those found are likely: the next less what it misses.

        Parameters
        ----------
        found
            How many pairs were found.

        Source
        ------
        A value of the inverse lies within its residual of the exact one (Parlett, The Symmetric Eigenvalue
        Problem; recalled, not opened).
        """
        if len(self._inner) <= found:
            return -np.inf if self._block.shape[1] else np.inf
        pairs = self._pairs(found + 1)
        shifted = (pairs.values[found] + self._shift) / (1 + pairs.residuals[found])
        return float(shifted - self._shift)

    def _grow(self) -> None:
        """Take the next block into the basis and apply the operator to it."""
        new = self._block.shape[1]
        self._basis = np.hstack([self._basis, self._block])
        self._mass_basis = np.hstack([self._mass_basis, self._mass_block])
        n = self._basis.shape[1]
        parts, rest, mass_rest = self._outside(self._solve(self._mass_block))
        inner = np.zeros((n, n))
        inner[: n - new, : n - new] = self._inner
        inner[:, n - new :] = parts
        inner[n - new :, : n - new] = parts[: n - new].T
        self._inner = inner
        self._block, self._mass_block, self._rest = orthonormal(rest, mass_rest)
        if n >= len(self._basis):
            self._block = self._block[:, :0]

    def _pairs(self, wanted: int) -> Eigenpairs:
        """Return the best pairs in the basis."""
        theta, turn = _eigh((self._inner + self._inner.T) / 2)
        theta, turn = theta[::-1][:wanted], turn[:, ::-1][:, :wanted]
        left = turn[len(turn) - len(self._rest) :]
        size = np.einsum("ij,ik,kj->j", left, self._rest, left)
        return Eigenpairs(1 / theta - self._shift, self._basis @ turn, np.sqrt(np.maximum(size, 0.0)) / theta)

    def _outside(self, block: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the parts of a block along the basis, what is left of it, and M times that.

        The second pass removes what rounding left of the first; M is applied once.
        """
        parts = self._mass_basis.T @ block
        block = block - self._basis @ parts
        image = self._mass(block)
        again = self._basis.T @ image
        return parts + again, block - self._basis @ again, image - self._mass_basis @ again


def orthonormal(block: FloatArray, image: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return a block made mass-orthonormal, without dependent columns, M times it, and its Gram matrix.

    Parameters
    ----------
    block, image
        Columns and M times them, shape (n_unknowns, n).
    """
    gram = block.T @ image
    gram = (gram + gram.T) / 2
    length = np.sqrt(np.maximum(gram.diagonal(), 1e-300))
    size, turn = _eigh(gram / (length[:, None] * length))
    keep = size > 1e-13 * size[-1]
    scale = turn[:, keep] / np.sqrt(size[keep]) / length[:, None]
    return block @ scale, image @ scale, gram


def _eigh(matrix: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return eigenvalues, rising, and eigenvectors of a small symmetric matrix, without NumPy's checks."""
    values, vectors, fault = dsyevd(matrix)
    if fault:
        raise SolveError("The modes could not be told apart: the matrices hold numbers that are not finite.")
    return values, vectors
