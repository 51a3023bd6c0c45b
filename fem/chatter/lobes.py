"""The boundary of stability along frequency, and the lobes it folds into, for drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import felt_directions, loop_matrix, tracked_eigenvalues
from stickout.fem.chatter.receptance import ComplexArray, ModalModel
from stickout.fem.chatter.stability import margin_from_real
from stickout.fem.chatter.valleys import frequency_grid, nodes_with_valleys

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Boundary:
    """The boundary of stability along frequency.

    Attributes
    ----------
    omega
        Angular frequencies [rad/s], shape (..., n_w).
    margin
        Margin of both eigenvalues [-], inf where the real part is not negative, shape (..., 2, n_w).
    phase
        Phase between waves of successive revolutions [rad], 0 to 2 pi, shape (..., 2, n_w).
    """

    omega: FloatArray
    margin: FloatArray
    phase: FloatArray


@dataclass(frozen=True)
class Lobe:
    """One lobe for drawing: whole waves per turn, speeds [rpm] and margins [-], each of shape (2, n_w)."""

    number: int
    speed_rpm: FloatArray
    margin: FloatArray


def boundary(model: ModalModel, matrix: FloatArray, *, w: FloatArray | None = None) -> Boundary:
    """Return margin and phase along frequency.

    Parameters
    ----------
    model
        The modal model.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    w
        Sorted angular frequencies [rad/s], shape (..., n_w); None: a grid that resolves the resonances.

    Returns
    -------
    Boundary
        Margin and phase of both eigenvalues.

    Source
    ------
    Altintas, Manufacturing Automation (recalled, not opened); phase branch computed here.
    """
    if w is None:
        w = nodes_with_valleys(
            model, matrix, grid=frequency_grid(model, felt_directions(matrix), per_mode=200)
        )
    lam = tracked_eigenvalues(loop_matrix(model, matrix, w=w))
    return Boundary(omega=w, margin=margin_from_real(lam.real), phase=wave_phase(lam))


def wave_phase(lam: ComplexArray) -> FloatArray:
    """Return the phase between the waves of successive revolutions.

    Parameters
    ----------
    lam
        Eigenvalues of G A [-].

    Returns
    -------
    ndarray
        theta with ``s (1 - exp(-i theta)) lam = -1`` [rad], 0 to 2 pi, the same shape; where the real
        part is not negative the value at the end of the gap, 0 or 2 pi.

    Source
    ------
    ``theta = 2 atan2(-Re lam, Im lam)``, equal to ``3 pi + 2 psi`` of the one-mode theory (computed here).
    """
    return np.asarray(2.0 * np.arctan2(np.maximum(-lam.real, 0.0), lam.imag))


def lobes(edge: Boundary, numbers: Sequence[int]) -> list[Lobe]:
    """Return the lobes of the given numbers.

    Parameters
    ----------
    edge
        The boundary of one model, see ``boundary``.
    numbers
        Whole waves per turn, zero or above.

    Returns
    -------
    list of Lobe
        One for each number; in a gap of the boundary the margin is inf and the speed nan.

    Source
    ------
    ``n = 60 f / (j + theta / 2 pi)``; Tobias & Fishwick 1958 (recalled, not opened).
    """
    found = np.isfinite(edge.margin)
    turns = np.where(found, edge.phase, 2.0 * np.pi) / (2.0 * np.pi)
    per_minute = 60.0 * edge.omega[..., None, :] / (2.0 * np.pi)
    speeds = [np.where(found, per_minute / (j + turns), np.nan) for j in numbers]
    return [
        Lobe(number=j, speed_rpm=speed, margin=edge.margin) for j, speed in zip(numbers, speeds, strict=True)
    ]


def waves_per_turn(omega: FloatArray | float, speed_rpm: FloatArray | float) -> FloatArray:
    """Return how many waves the chatter leaves on one turn of the work; below about 10 speed matters.

    Parameters
    ----------
    omega
        Angular frequency of the chatter [rad/s].
    speed_rpm
        Spindle speed [rpm].

    Returns
    -------
    ndarray
        Waves per turn [-].

    Source
    ------
    Kinematics (computed here).
    """
    return np.asarray(omega) * 60.0 / (2.0 * np.pi * np.asarray(speed_rpm))
