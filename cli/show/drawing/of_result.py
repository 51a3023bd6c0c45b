"""The set-up drawing of a result: with the force that was found to push the tool."""

from __future__ import annotations

import numpy as np

from stickout.cli.show.drawing.drawing import Push, set_up_drawing
from stickout.fem.force.loading import cutting_force
from stickout.fem.study.result import Result


def drawing_of(result: Result) -> str:
    """Return the drawing of a result's set-up as one SVG element."""
    return set_up_drawing(result.setup, _push_of(result))


def _push_of(result: Result) -> Push:
    """Return the force on the tool as the drawing shows it; its size where the cut tells it."""
    cut = result.setup.cut
    if cut is None or result.loading.how != "force model":
        return Push(result.loading.direction)
    force = cutting_force(cut)[0]
    return Push(result.loading.direction, float(np.linalg.norm([force.c, force.f, force.p])))
