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
    basis = np.empty((len(start), 0))
    mass_basis, image = basis, basis
    block = solve(mass(start))
    wanted = min(wanted, len(start))
    for _ in range(_MOST_BLOCKS):
        block, mass_block = _orthonormal(block, basis, mass_basis, mass)
        basis, mass_basis = np.hstack([basis, block]), np.hstack([mass_basis, mass_block])
        block = solve(mass_block)
        image = np.hstack([image, block])
        if basis.shape[1] < wanted:
            continue
        projected = mass_basis.T @ image
        theta, turn = np.linalg.eigh((projected + projected.T) / 2)
        theta, turn = theta[::-1][:wanted], turn[:, ::-1][:, :wanted]
        shapes = basis @ turn
        rest = image @ turn - shapes * theta
        residual = np.sqrt(np.maximum(np.einsum("ij,ij->j", rest, mass(rest)), 0.0)) / theta
        if np.all(residual**2 < tolerance) or basis.shape[1] >= len(start):
            return Eigenpairs(1 / theta - shift, shapes, residual)
    done = int(np.sum(residual**2 < tolerance))
    raise SolveError(
        f"{done} of {wanted} modes converged, worst relative residual {residual.max():.1e}. "
        "Ask for fewer modes, or stiffen a grip that is almost loose."
    )


def _orthonormal(
    block: FloatArray, basis: FloatArray, mass_basis: FloatArray, mass: Operator
) -> tuple[FloatArray, FloatArray]:
    """Return the part of a block outside the basis, mass-orthonormal, and M times it; twice is enough."""
    for _ in range(2):
        block = block - basis @ (mass_basis.T @ block)
        block = block / np.linalg.norm(block, axis=0)
        image = mass(block)
        size, turn = np.linalg.eigh(block.T @ image)
        keep = size > 1e-13 * size[-1]
        scale = turn[:, keep] / np.sqrt(size[keep])
        block, image = block @ scale, image @ scale
    return block, image
