"""The boundary of stability along frequency, and the lobes it folds into, for drawing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.receptance import ComplexArray

FloatArray = NDArray[np.float64]


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
