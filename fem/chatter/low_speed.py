"""The cutting speed, and the squeal of a force that falls with it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.receptance import ModalModel

FloatArray = NDArray[np.float64]


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
