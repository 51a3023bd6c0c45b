"""Poles of decaying sums of sines: matrix pencil to find them, variable projection to refine them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.errors import InputError

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
_STEPS: Final = 30
_SETTLED: Final = 1e-9


@dataclass(frozen=True)
class Refined:
    """Poles fitted to one or more records.

    Attributes
    ----------
    poles
        Poles [1/s], one a mode, imaginary part positive, shape (n,).
    sd
        Standard deviation of the decay rate by the noise alone [1/s], shape (n,).
    amplitudes
        Size of every mode at the start of every record, shape (n, m).
    residual
        Root mean square of what is left over that of the record, shape (m,).
    """

    poles: ComplexArray
    sd: FloatArray
    amplitudes: FloatArray
    residual: FloatArray


def matrix_pencil(records: NDArray[Any], order: int, *, rate_hz: float) -> ComplexArray:
    """Return the poles that records of one thing have in common.

    Parameters
    ----------
    records
        Records of equal length, real or complex, shape (m, n).
    order
        Number of poles: two for each mode of a real record.
    rate_hz
        Samples a second.

    Returns
    -------
    ndarray
        Poles [1/s], shape (order,).

    Raises
    ------
    InputError
        The records are too short for so many poles.

    Source
    ------
    Hua & Sarkar 1990, pencil length a third of the record (recalled, not opened). [A.mp.*]
    """
    length = records.shape[1] // 3
    if order < 1 or length <= order:
        raise InputError(
            key="record",
            given=f"{records.shape[1]} samples for {order} poles",
            allowed="three samples or more a pole",
            mend="Record the whole decay.",
        )
    blocks = [np.lib.stride_tricks.sliding_window_view(one, len(one) - length + 1) for one in records]
    left = np.linalg.svd(np.concatenate(blocks, axis=1), full_matrices=False)[0][:, :order]
    turn = np.linalg.lstsq(left[:-1], left[1:], rcond=None)[0]
    logs = np.log(np.asarray(np.linalg.eigvals(turn), dtype=np.complex128))
    return np.asarray(logs * rate_hz, dtype=np.complex128)


def refine(records: FloatArray, poles: ComplexArray, *, rate_hz: float) -> Refined:
    """Return poles common to all records by least squares, sizes and phases free in each record.

    Parameters
    ----------
    records
        Real records that begin at the same place of the decay, shape (m, n).
    poles
        First guess [1/s], imaginary parts positive.
    rate_hz
        Samples a second.

    Returns
    -------
    Refined
        Poles, their noise bound, sizes and what is left.

    Source
    ------
    Variable projection, Golub & Pereyra 1973 with Kaufman's Jacobian (recalled, not opened).
    """
    t = np.arange(records.shape[1]) / rate_hz
    scale = np.maximum(-poles.real, 1e-3 * np.abs(poles.imag)).repeat(2)
    theta = np.stack([-poles.real, poles.imag], axis=1).ravel()
    left, jacobian, weights = _projected(records, theta, t=t)
    damp, cost = 1e-3, float((left**2).sum())
    for _ in range(_STEPS):
        scaled = jacobian * scale[:, None, None]
        normal = np.einsum("imn,jmn->ij", scaled, scaled)
        slope = np.einsum("imn,mn->i", scaled, left)
        # A pole that no record holds moves nothing: the least step then leaves it where it is.
        step = scale * np.linalg.lstsq(normal + damp * np.diag(np.diag(normal)), -slope, rcond=None)[0]
        tried = theta + step
        if np.all(tried[0::2] > -0.2 * scale[0::2]):
            after = _projected(records, tried, t=t)
            reached = float((after[0] ** 2).sum())
            if reached <= cost:
                gained = cost - reached
                theta, (left, jacobian, weights), cost, damp = tried, after, reached, 0.1 * damp
                if gained <= _SETTLED * cost:
                    break
                continue
        damp *= 10.0
        if damp > 1e8:
            break
    return _refined(theta, (left, jacobian, weights), records=records)


def _refined(
    theta: FloatArray, at: tuple[FloatArray, FloatArray, FloatArray], *, records: FloatArray
) -> Refined:
    """Return the result at the last poles."""
    left, jacobian, weights = at
    n = len(theta) // 2
    free = max(records.size - weights.size - len(theta), 1)
    normal = np.einsum("imn,jmn->ij", jacobian, jacobian)
    spread = np.linalg.pinv(normal) * float((left**2).sum()) / free
    size = np.hypot(weights[0 : 2 * n : 2], weights[1 : 2 * n : 2])
    whole = np.maximum(np.sqrt((records**2).mean(axis=1)), 1e-300)
    poles = -theta[0::2] + 1j * theta[1::2]
    sd = np.sqrt(np.maximum(np.diag(spread)[0::2], 0.0))
    return Refined(poles, sd, size, np.sqrt((left**2).mean(axis=1)) / whole)


def _projected(
    records: FloatArray, theta: FloatArray, *, t: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what is left of the records, its slope with the parameters, and the weights of the basis.

    A constant and a slope stand in the basis too: coupling capacitors and hum far below every note.
    """
    alpha, omega = theta[0::2], theta[1::2]
    wave = np.exp((-alpha + 1j * omega)[:, None] * t)  # (k, n)
    basis = np.concatenate(
        [np.stack([wave.real, wave.imag], axis=1).reshape(-1, len(t)), np.ones((1, len(t))), [t / t[-1]]]
    ).T
    q, r = np.linalg.qr(basis)
    seen = q.T @ records.T
    weights = np.linalg.lstsq(r, seen, rcond=None)[0]
    left = records - (q @ seen).T
    slopes = np.empty((len(theta), *records.shape))
    for k in range(len(alpha)):
        a, b = weights[2 * k][:, None], weights[2 * k + 1][:, None]
        u, v = t * wave[k].real, t * wave[k].imag
        slopes[2 * k] = a * u + b * v  # minus the derivative by alpha, for the residual
        slopes[2 * k + 1] = a * v - b * u
    slopes -= (slopes @ q) @ q.T
    return left, slopes, weights
