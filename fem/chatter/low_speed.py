"""Low speed: rubbing of the flank as a trend, waves on the work, and the squeal of a falling force.

The flank-indentation law rests on a contact coefficient whose published values differ more than
tenfold, and on the wear land squared. Present its results as a trend: halve the speed, gain so much.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.force.nose import EngagedEdge
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


def rubbing_coefficient(contact: float, land: float, *, speed: float) -> float:
    """Return the damping that the flank adds for each metre of edge, ``Ksp Lw^2 / (4 v)``.

    Parameters
    ----------
    contact
        Flank contact coefficient Ksp [N/m^3], 1.5e13 to 4.1e14.
    land
        Length of the wear land Lw [m].
    speed
        Cutting speed [m/s].

    Returns
    -------
    float
        Damping along the local normal [N s/m^2].

    Raises
    ------
    InputError
        The speed is not above zero.

    Source
    ------
    Wu 1989; Chiou & Liang 1998 (recalled, not opened); small waves only.
    """
    _check_speed(speed)
    return contact * land**2 / (4.0 * speed)


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


def rubbed_width_limit(
    stiffness: float, damping_ratio: float, *, omega: float, thrust: float, rubbing: float
) -> float | None:
    """Return the width limit of one mode with the flank's rubbing added to its damping.

    Root of ``Kr b = 2 k z (1 + z)`` with ``z = zeta + c b omega / (2 k)``.

    Parameters
    ----------
    stiffness
        Modal stiffness along the normal k [N/m].
    damping_ratio
        Damping ratio without the rubbing zeta [-].
    omega
        Angular frequency of the mode [rad/s].
    thrust
        Tangent coefficient of the thrust Kr [Pa].
    rubbing
        Damping for each metre of edge c [N s/m^2], see ``rubbing_coefficient``.

    Returns
    -------
    float or None
        Width [m]; None where no width chatters.

    Source
    ------
    Wu 1989 (recalled, not opened); the root computed here.
    """
    gain = rubbing * omega / (2.0 * stiffness)
    square = 2.0 * stiffness * gain**2
    linear = 2.0 * stiffness * gain * (1.0 + 2.0 * damping_ratio) - thrust
    constant = 2.0 * stiffness * damping_ratio * (1.0 + damping_ratio)
    inside = linear**2 - 4.0 * square * constant
    if linear >= 0.0 or inside < 0.0:
        return None
    # This form of the smaller root also holds for no rubbing, where the square term is zero.
    return float(2.0 * constant / (-linear + np.sqrt(inside)))


def with_rubbing(model: ModalModel, widths: FloatArray, *, rubbing: float) -> ModalModel:
    """Return the modal model with the flank's rubbing added to the loss of each mode.

    ``eta_r + phi_r . C . phi_r / omega_r`` with ``C = c int n n^T dl``.

    Parameters
    ----------
    model
        The modal model.
    widths
        Integral of the local normal times itself along the edge [m], bar frame, shape (3, 3).
    rubbing
        Damping for each metre of edge c [N s/m^2].

    Returns
    -------
    ModalModel
        The same modes with more loss: good near each resonance, a trend at best.

    Source
    ------
    First-order energy balance (computed here).
    """
    added = rubbing * np.einsum("...ni,ij,...nj->...n", model.phi, widths, model.phi) / model.omega
    return replace(model, eta=model.eta + added)


def normal_widths(edge: EngagedEdge) -> FloatArray:
    """Return ``int n n^T dl`` in the axes (p, c, f).

    Parameters
    ----------
    edge
        The engaged edge, one depth.

    Returns
    -------
    ndarray
        Matrix [m], shape (3, 3); turn it with ``matrix_in_bar_frame``.

    Source
    ------
    Definition (computed here).
    """
    pp, pf, ff = float(edge.width_pp), float(edge.width_pf), float(edge.width_ff)
    return np.array([[pp, 0.0, pf], [0.0, 0.0, 0.0], [pf, 0.0, ff]])


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
