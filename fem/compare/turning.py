"""How far to turn a section that is not round, so that the cut it makes stays quiet longest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.beam.work import work_model
from stickout.fem.chatter.changed import turned
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.models import joined, tool_modes
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.force.case import CutCase, described_case
from stickout.fem.study.clamped_loss import CLAMPED, clamped_loss
from stickout.fem.study.result import Result
from stickout.meshes.tagged import FloatArray

_STEP_DEG: Final = 5.0
# A clamp is set by eye; the angle must still be good this far off.
_OFF_DEG: Final = 5.0


@dataclass(frozen=True)
class Turn:
    """The best angle to turn further [deg], and the margin there over that of the set-up as it is."""

    angle_deg: float
    ratio: float


def best_turn(result: Result) -> Turn | None:
    """Return the best angle to turn bar and grip together about the bar's axis.

    Parameters
    ----------
    result
        The set-up as it is.

    Returns
    -------
    Turn or None
        The angle of the greatest margin that holds 5 degrees either side as well. Without a wholly described
        cut: the greatest k zeta along the force. None where no force is given, or turning brings under 5 %.

    Source
    ------
    Thomas et al., ASME J. Eng. Ind. 97 (1975) 859 for the idea (abstract opened); margins as in fem.cut.
    """
    if result.setup.cut is None:
        return None
    case = described_case(result.setup)
    angles = np.arange(0.0, 180.0, _STEP_DEG)
    margin = _margins(result, case, angles)
    off = round(_OFF_DEG / _STEP_DEG)
    safe = np.min([np.roll(margin, k) for k in range(-off, off + 1)], axis=0)
    best = int(np.argmax(safe))
    ratio = float(margin[best] / margin[0])
    if not np.isfinite(ratio) or ratio < 1.05:
        return None
    return Turn(float(angles[best]), ratio)


def _margins(result: Result, case: CutCase | None, angles: FloatArray) -> FloatArray:
    """Return the margin with bar and grip turned by angles [deg]: of the cut, or along the force given."""
    tool = turned(tool_modes(result, clamped_loss(result)).model, angles)
    if case is not None:
        work = work_model(result.setup, loss=CLAMPED.likely)
        return speed_margins(case, joined(tool, work)).least
    # A force of 1 N/m along its own direction: the margin is then proportional to k zeta along the force.
    push = result.loading.direction
    return absolute_limit(tool, np.outer(push, push)).margin
