"""How far to turn a section that is not round, so that the cut it makes stays quiet longest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.changed import turned
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.compare.measures import modal_model
from stickout.fem.force.directions import cut_directions, nose_matrix
from stickout.fem.force.law import force_law
from stickout.fem.force.loading import MM
from stickout.fem.setup.parts import Cut
from stickout.fem.setup.work_materials import work_material
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


def cut_stiffness(cut: Cut | None) -> FloatArray | None:
    """Return the dynamic stiffness of the cut in the bar frame [N/m], None where it is not wholly described.

    Parameters
    ----------
    cut
        The cut; depth, feed, nose, edge angle and work material must be known.

    Returns
    -------
    ndarray or None
        Shape (3, 3).
    """
    if cut is None or cut.operation is None:
        return None
    depth, feed, nose, angle = cut.depth_mm, cut.feed_mm, cut.nose_radius_mm, cut.edge_angle_deg
    if cut.work_material is None or depth is None or feed is None or nose is None or angle is None:
        return None
    directions = cut_directions(cut.operation, cut.side, rear_tool=cut.rear_tool)
    law = force_law(work_material(cut.work_material), rake_deg=cut.rake_deg, wear=cut.wear_factor)
    matrix = nose_matrix(directions, law, feed=feed * MM, nose_radius=nose * MM, edge_angle_deg=angle)
    return matrix(np.array(depth * MM))


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
    push = result.loading.direction
    known = cut_stiffness(result.setup.cut)
    # A force of 1 N/m along its own direction: the margin is then proportional to k zeta along the force.
    stiffness = np.outer(push, push) if known is None else known
    angles = np.arange(0.0, 180.0, _STEP_DEG)
    margin = absolute_limit(turned(modal_model(result), angles), stiffness).margin
    off = round(_OFF_DEG / _STEP_DEG)
    safe = np.min([np.roll(margin, k) for k in range(-off, off + 1)], axis=0)
    best = int(np.argmax(safe))
    ratio = float(margin[best] / margin[0])
    if not np.isfinite(ratio) or ratio < 1.05:
        return None
    return Turn(float(angles[best]), ratio)
