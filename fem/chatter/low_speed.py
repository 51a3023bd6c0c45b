"""Low speed: rubbing of the flank as a trend, waves on the work, and the squeal of a falling force.

The flank-indentation law rests on a contact coefficient whose published values differ more than
tenfold, and on the wear land squared. Present its results as a trend: halve the speed, gain so much.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.receptance import ModalModel
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]

CONTACT_BAND = (1.5e13, 4.1e14)
"""Published range of the flank contact coefficient [N/m^3] [j.ksp] (recalled, not opened)."""


def _check_speed(speed: float) -> None:
    """Refuse a cutting speed that is not above zero."""
    if not speed > 0.0:
        raise InputError(
            key="speed",
            given=speed,
            allowed="above 0 m/s",
            mend="Give pi times diameter times turns per second.",
        )


def quiet_speed(contact: float, land: float, *, omega: float, thrust: float) -> float:
    """Return the speed below which this law lets no width chatter, ``Ksp Lw^2 omega / (4 Kr)``.

    Parameters
    ----------
    contact
        Flank contact coefficient Ksp [N/m^3].
    land
        Length of the wear land Lw [m].
    omega
        Angular frequency of the mode [rad/s].
    thrust
        Tangent coefficient of the thrust Kr [Pa].

    Returns
    -------
    float
        Speed [m/s]. A trend, not a promise.

    Source
    ------
    Leading order of the flank-indentation law (computed here).
    """
    return contact * land**2 * omega / (4.0 * thrust)


def wavelength(speed: float, chatter_hz: float) -> float:
    """Return the length of one chatter wave on the work.

    Parameters
    ----------
    speed
        Cutting speed [m/s].
    chatter_hz
        Frequency [Hz].

    Returns
    -------
    float
        Wavelength [m]; the rubbing law needs it to be many times the wear land.

    Raises
    ------
    InputError
        The speed is not above zero.

    Source
    ------
    Kinematics (computed here).
    """
    _check_speed(speed)
    return speed / chatter_hz


def cutting_speed(diameter: float, speed_rpm: float) -> float:
    """Return the cutting speed.

    Parameters
    ----------
    diameter
        Diameter of the work at the cut [m].
    speed_rpm
        Spindle speed [rpm].

    Returns
    -------
    float
        Speed [m/s].

    Source
    ------
    Kinematics (computed here).
    """
    return float(np.pi * diameter * speed_rpm / 60.0)


def squeal_slope(model: ModalModel, cutting: FloatArray) -> FloatArray:
    """Return how steeply the cutting force must fall with speed before each mode squeals by itself.

    A falling force is negative damping along the cutting direction, with no delay: it does not ask
    for a previous wave, and its note does not follow the spindle. One mode:
    ``2 zeta k / omega``, here ``eta omega / (c . phi)^2``.

    Parameters
    ----------
    model
        The modal model.
    cutting
        Unit vector of the cutting direction in the bar frame, shape (3,).

    Returns
    -------
    ndarray
        Threshold of ``-dFc/dv`` [N s/m], shape (..., n), inf for a mode square to the cut. Divided by
        60 it is in N per m/min.

    Source
    ------
    Arnold 1946; Tobias 1965 (recalled, not opened).
    """
    motion = (model.phi @ cutting) ** 2
    return np.where(motion > 0.0, model.eta * model.omega / np.where(motion > 0.0, motion, 1.0), np.inf)
