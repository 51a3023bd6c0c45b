"""Eigenvalues of G A over frequency: the loop that the cut closes round the edge.

A acts through two directions only (the cut does not feel motion along the cutting direction), so the
eigenvalues of the 3x3 product that matter are those of a 2x2 matrix, known in closed form.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.receptance import ComplexArray, ModalModel, projection
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]


def felt_directions(matrix: FloatArray) -> FloatArray:
    """Return two orthonormal rows that span the motions the cut feels (the row space of A).

    Parameters
    ----------
    matrix
        Dynamic stiffness of the cut A, shape (..., 3, 3), at most rank two. With leading axes all
        entries must feel the same two directions; they are read from the largest entry.

    Returns
    -------
    ndarray
        Rows, shape (2, 3).

    Raises
    ------
    InputError
        A feels three directions, or not every entry feels the same two.

    Source
    ------
    Singular value decomposition (computed here).
    """
    flat = matrix.reshape(-1, 3, 3)
    size = np.abs(flat).max(axis=(1, 2))
    rows = np.linalg.svd(flat[np.argmax(size)])[2][:2]
    rest = flat - flat @ rows.T @ rows
    if np.any(np.abs(rest).max(axis=(1, 2)) > 1e-9 * size):
        raise InputError(
            key="matrix",
            given=matrix.shape,
            allowed="a cut that feels two directions at most, the same for all entries",
            mend="Build it with cut_matrix and matrix_in_bar_frame.",
        )
    return np.asarray(rows)


def eigenvalue_pair(loop: ComplexArray) -> tuple[ComplexArray, ComplexArray]:
    """Return half the trace and the half distance of the two eigenvalues.

    Parameters
    ----------
    loop
        Matrices, shape (..., 2, 2, n_w).

    Returns
    -------
    tuple of ndarray
        ``m`` and ``d`` with eigenvalues ``m + d`` and ``m - d``, shape (..., n_w); Re d is zero or above.

    Source
    ------
    Quadratic formula (computed here).
    """
    half = 0.5 * (loop[..., 0, 0, :] + loop[..., 1, 1, :])
    return half, np.sqrt(_squared_distance(loop))


def _squared_distance(loop: ComplexArray) -> ComplexArray:
    """Return the square of half the distance of the eigenvalues, shape (..., n_w)."""
    # The form with the difference of the diagonal keeps its digits when the eigenvalues are close.
    spread = 0.5 * (loop[..., 0, 0, :] - loop[..., 1, 1, :])
    return np.asarray(spread * spread + loop[..., 0, 1, :] * loop[..., 1, 0, :])


def lowest_real(loop: ComplexArray) -> FloatArray:
    """Return the smaller real part of the two eigenvalues.

    Parameters
    ----------
    loop
        Matrices, shape (..., 2, 2, n_w).

    Returns
    -------
    ndarray
        Real part, shape (..., n_w).

    Source
    ------
    Quadratic formula (computed here).
    """
    return _lowest(loop[..., 0, 0, :], loop[..., 0, 1, :], loop[..., 1, 0, :], loop[..., 1, 1, :])


def _lowest(a: ComplexArray, b: ComplexArray, c: ComplexArray, d: ComplexArray) -> FloatArray:
    """Return the smaller real part of the eigenvalues of matrices ((a, b), (c, d))."""
    spread = 0.5 * (a - d)
    square = spread * spread + b * c
    re, im = square.real, square.imag
    # Real part of the principal root; the complex root would take several times as long.
    root = np.sqrt(np.maximum(0.5 * (np.sqrt(re * re + im * im) + re), 0.0))
    return np.asarray(0.5 * (a.real + d.real) - root)


def rubbed_loop(loop: ComplexArray, rub: ComplexArray, *, w: FloatArray) -> ComplexArray:
    """Return ``(I + i w g_C)^-1 g_A``: the loop of the cut on a tool that the flank's rubbing damps.

    Parameters
    ----------
    loop
        g_A, the loop of the cut alone, shape (..., 2, 2, n_w).
    rub
        g_C, the same for the flank's damping [s], shape (..., 2, 2, n_w).
    w
        Angular frequencies [rad/s], shape (..., n_w).

    Returns
    -------
    ndarray
        Loop matrices [-], shape (..., 2, 2, n_w).

    Source
    ------
    ``(I + i w G C)^-1 G A`` with A and C through the same two directions: push-through identity
    (computed here).
    """
    a, b, c, d = _rubbed(loop, rub, w)
    return np.stack([np.stack([a, b], axis=-2), np.stack([c, d], axis=-2)], axis=-3)


def lowest_rubbed(loop: ComplexArray, rub: ComplexArray, *, w: FloatArray) -> FloatArray:
    """Return ``lowest_real`` of ``rubbed_loop``, parameters as there, without forming its matrices.

    Returns
    -------
    ndarray
        Real part, shape (..., n_w).

    Source
    ------
    As ``rubbed_loop`` (computed here).
    """
    return _lowest(*_rubbed(loop, rub, w))


def _rubbed(loop: ComplexArray, rub: ComplexArray, w: FloatArray) -> tuple[ComplexArray, ...]:
    """Return the four entries of ``rubbed_loop``, shape (..., n_w) each: one at a time is far quicker."""
    turned = 1j * w
    a, b = 1.0 + turned * rub[..., 0, 0, :], turned * rub[..., 0, 1, :]
    c, d = turned * rub[..., 1, 0, :], 1.0 + turned * rub[..., 1, 1, :]
    over = 1.0 / (a * d - b * c)
    a, b, c, d = a * over, b * over, c * over, d * over
    p, q = loop[..., 0, 0, :], loop[..., 0, 1, :]
    r, s = loop[..., 1, 0, :], loop[..., 1, 1, :]
    return d * p - b * r, d * q - b * s, a * r - c * p, a * s - c * q


def loop_matrix(
    model: ModalModel, matrix: FloatArray, *, w: FloatArray, flank: FloatArray | None = None
) -> ComplexArray:
    """Return the 2x2 matrix whose eigenvalues are the non-zero ones of G(w) A.

    Parameters
    ----------
    model
        The modal model.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    w
        Angular frequencies [rad/s], shape (..., n_w).
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3), feeling the same two
        directions; None: no rubbing.

    Returns
    -------
    ndarray
        Loop matrices [-], shape (..., 2, 2, n_w).

    Raises
    ------
    InputError
        A feels three directions.

    Source
    ------
    Non-zero eigenvalues of XY and YX agree (computed here).
    """
    rows = felt_directions(matrix)
    return seen_loop(model, matrix, w=w, rows=rows, flank=flank)


def seen_loop(
    model: ModalModel, matrix: FloatArray, *, w: FloatArray, rows: FloatArray, flank: FloatArray | None
) -> ComplexArray:
    """Return ``loop_matrix`` for directions that are known; parameters as there.

    Source
    ------
    See ``rubbed_loop`` (computed here).
    """
    seen = _seen(model, matrix, rows=rows, flank=flank)(w)
    return seen if flank is None else rubbed_loop(seen[..., :2, :], seen[..., 2:, :], w=w)


def lowest_seen(
    model: ModalModel, matrix: FloatArray, *, rows: FloatArray, flank: FloatArray | None
) -> Callable[[FloatArray], FloatArray]:
    """Return the function of angular frequencies [rad/s] that gives ``lowest_real`` of ``seen_loop``.

    Parameters
    ----------
    model, matrix, rows, flank
        As for ``seen_loop``.

    Returns
    -------
    callable
        Frequencies of shape (..., n_w) to real parts of shape (..., n_w).

    Source
    ------
    See ``lowest_rubbed`` (computed here).
    """
    seen = _seen(model, matrix, rows=rows, flank=flank)

    def lowest(w: FloatArray) -> FloatArray:
        loop = seen(w)
        if flank is None:
            return lowest_real(loop)
        return lowest_rubbed(loop[..., :2, :], loop[..., 2:, :], w=w)

    return lowest


def _seen(
    model: ModalModel, matrix: FloatArray, *, rows: FloatArray, flank: FloatArray | None
) -> Callable[[FloatArray], ComplexArray]:
    """Return the function that gives the loop of the cut alone, and beside it that of the flank alone."""
    right = matrix @ rows.T
    if flank is not None:
        lead = np.broadcast_shapes(matrix.shape[:-2], flank.shape[:-2])
        right = np.concatenate(
            [np.broadcast_to(one, (*lead, 3, 2)) for one in (right, flank @ rows.T)], axis=-1
        )
    return projection(model, left=rows, right=right)


def tracked_eigenvalues(loop: ComplexArray) -> ComplexArray:
    """Return both eigenvalues as curves that stay whole along the frequency axis.

    Parameters
    ----------
    loop
        Matrices along sorted frequencies, shape (..., 2, 2, n_w).

    Returns
    -------
    ndarray
        Eigenvalues, shape (..., 2, n_w).

    Source
    ------
    The root's sign is carried from node to node (computed here).
    """
    half, distance = eigenvalue_pair(loop)
    along = (np.conj(distance[..., :-1]) * distance[..., 1:]).real
    sign = np.ones(distance.shape)
    sign[..., 1:] = np.cumprod(np.where(along < 0.0, -1.0, 1.0), axis=-1)
    return np.stack([half + sign * distance, half - sign * distance], axis=-2)
