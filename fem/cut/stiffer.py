"""The verdict on a cut for the same bar stiffer or softer by factors."""

from __future__ import annotations

from collections.abc import Sequence

from stickout.fem.cut.judge import judge_of
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.cut.likely import likely_limit
from stickout.fem.cut.models import ToolModes, softened, tool_modes
from stickout.fem.study.result import Result


def judged_at(result: Result, factors: Sequence[float]) -> list[JudgedCut]:
    """Return the verdict on a result's cut if the bar were stiffer or softer by factors; its work is rigid.

    Parameters
    ----------
    result
        Modes of a set-up with a fully described cut and without [work].
    factors
        Stiffness at the edge over that of the result; notes follow as those of a bar whose root gives.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.

    Source
    ------
    ``stickout.fem.cut.models.softened`` for the notes; the verdict is that of the command ``cut`` (computed
    here).
    """
    now = judged_result(result)
    setup, case, loss = result.setup, now.likely.case, now.likely.loss
    numbers = tool_modes(result, loss).numbers
    found = []
    for factor in factors:
        tool = ToolModes(softened(now.likely.tool, factor), numbers)
        likely = likely_limit(setup, case, loss=loss, tool=tool)
        levels = {grip: softened(model, factor) for grip, model in now.levels.items()}
        base = softened(now.base, factor)
        found.append(JudgedCut(likely, now.bands, levels, base, judge_of(likely, levels, bands=now.bands)))
    return found
