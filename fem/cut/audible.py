"""Which modes of a tool can be heard in a cut: the back of the edge stops short waves at a whisper."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.modal import ModalModel

# A swing that the back of the edge stops at less than this [m] leaves a slightly matt finish, no more.
WHISPER: Final = 3e-6
# A tool's first swings lie within this of its lowest: what is said of a cut is said of those at least.
_FIRST: Final = 1.5


def audible(model: ModalModel, *, speed: float, clearance: float) -> NDArray[np.bool_]:
    """Return which modes grow louder than a whisper at a cutting speed; the first swings always count.

    Parameters
    ----------
    model
        One modal model of tool and work.
    speed
        Cutting speed [m/s].
    clearance
        Clearance of the edge [rad].

    Returns
    -------
    ndarray
        Shape (n,).

    Source
    ------
    ``stickout.fem.cut.flank.ceiling_of`` against the limit of a whisper: own judgement (computed here).
    """
    loud = speed * np.tan(clearance) / WHISPER
    return np.asarray(model.omega < max(float(loud), _FIRST * float(model.omega.min())))
