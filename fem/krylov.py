"""The lowest modes by block inverse iteration over a growing, mass-orthogonal space.

A block of start shapes finds repeated frequencies that a single start vector would miss; with bar-like
shapes among them three or four solves suffice. The start is fixed: same input, same output.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from fem.errors import SolveError
from meshes.tagged import FloatArray

Operator = Callable[[FloatArray], FloatArray]

_MOST_BLOCKS = 60


class Eigenpairs(NamedTuple):
    """Eigenvalues [1/s^2], rising, (n,); mass-normalised shapes, (n_unknowns, n); residuals, (n,)."""

    values: FloatArray
    shapes: FloatArray
    residuals: FloatArray


def lowest_eigenpairs(
    solve: Operator,
    mass: Operator,
    *,
    start: FloatArray,
    wanted: int,
    tolerance: float = 1e-7,
    shift: float = 0.0,
) -> Eigenpairs:
    """Return the eigenpairs of ``K v = value M v`` nearest above ``-shift``.

    Parameters
    ----------
    solve
        Applies the inverse of ``K + shift M`` to columns (n_unknowns, n).
    mass
        Applies M to columns.
    start
        Start columns, shape (n_unknowns, n_start); as many as the highest multiplicity, or more.
    wanted
        Number of eigenpairs; no more than the unknowns.
    tolerance
        Greatest relative error of an eigenvalue, from the residual's square.
    shift
        The shift in ``solve`` [1/s^2].

    Returns
    -------
    Eigenpairs
        The wanted pairs with the M-norm of each relative residual.

    Raises
    ------
    SolveError
        The iteration did not converge; the text says how many did.

    Source
    ------
    Golub & Van Loan, Matrix Computations, block Lanczos with full orthogonalisation (recalled, not opened).
    """
    wanted = min(wanted, len(start))
    block, mass_block, _ = _orthonormal(*_outside(solve(mass(start)), None, mass)[1:])
    basis, mass_basis = block, mass_block
    # The operator in the basis: what it makes of a block lies in the basis but for a remainder.
    inner = np.zeros((0, 0))
    for _ in range(_MOST_BLOCKS):
        parts, rest, mass_rest = _outside(solve(mass_block), (basis, mass_basis), mass)
        n, new = basis.shape[1], block.shape[1]
        grown = np.zeros((n, n))
        grown[: n - new, : n - new] = inner
        grown[:, n - new :] = parts
        grown[n - new :, : n - new] = parts[: n - new].T
        inner = grown
        theta, turn = np.linalg.eigh((inner + inner.T) / 2)
        theta, turn = theta[::-1][:wanted], turn[:, ::-1][:, :wanted]
        block, mass_block, size = _orthonormal(rest, mass_rest)
        left = turn[n - new :]
        residual = np.sqrt(np.maximum(np.einsum("ij,ik,kj->j", left, size, left), 0.0)) / theta
        whole = not block.shape[1] or n >= len(start)
        if whole or (n >= wanted and np.all(residual**2 < tolerance)):
            return Eigenpairs(1 / theta - shift, basis @ turn, residual)
        basis, mass_basis = np.hstack([basis, block]), np.hstack([mass_basis, mass_block])
    done = int(np.sum(residual**2 < tolerance))
    raise SolveError(
        f"{done} of {wanted} modes converged, worst relative residual {residual.max():.1e}. "
        "Ask for fewer modes, or stiffen a grip that is almost loose."
    )


def _outside(
    block: FloatArray, basis: tuple[FloatArray, FloatArray] | None, mass: Operator
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the parts of a block along a mass-orthonormal basis, what is left of it, and M times that.

    The second pass removes what rounding left of the first; M is applied once.
    """
    if basis is None:
        return np.empty((0, block.shape[1])), block, mass(block)
    vectors, mass_vectors = basis
    parts = mass_vectors.T @ block
    block = block - vectors @ parts
    image = mass(block)
    again = vectors.T @ image
    return parts + again, block - vectors @ again, image - mass_vectors @ again


def _orthonormal(block: FloatArray, image: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return a block made mass-orthonormal, without dependent columns, M times it, and its Gram matrix."""
    gram = block.T @ image
    gram = (gram + gram.T) / 2
    length = np.sqrt(np.maximum(np.diag(gram), 1e-300))
    size, turn = np.linalg.eigh(gram / np.outer(length, length))
    keep = size > 1e-13 * size[-1]
    scale = turn[:, keep] / np.sqrt(size[keep]) / length[:, None]
    return block @ scale, image @ scale, gram
