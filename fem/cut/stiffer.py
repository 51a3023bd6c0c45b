"""Margin and depth limit of a cut as bands, for the bar as it is and for the same bar stiffer or softer."""

from __future__ import annotations

from collections.abc import Sequence

from stickout.fem.chatter.depth import depth_limit
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.likely import deepest_for
from stickout.fem.cut.models import coarse_model, softened, tool_modes
from stickout.fem.cut.spread import GRIP, SHALLOWEST, CutSpread, cut_spread, grip_levels, input_bands
from stickout.fem.force.case import cut_case
from stickout.fem.study.clamped_loss import clamped_loss
from stickout.fem.study.result import Result


def cut_bands(result: Result) -> CutSpread:
    """Return low, likely and high of margin and depth limit of a result's cut; its work counts as rigid.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.
    """
    return cut_bands_at(result, [1.0])[0]


def cut_bands_at(result: Result, factors: Sequence[float]) -> list[CutSpread]:
    """Return the bands of a result's cut if the bar were stiffer or softer by factors.

    Parameters
    ----------
    result
        Modes of a set-up with a fully described cut.
    factors
        Stiffness at the edge over that of the result; notes follow as those of a bar whose root gives.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.

    Source
    ------
    ``stickout.fem.cut.models.softened`` for the notes; bands as for the command ``cut`` (computed here).
    """
    setup, case, loss = result.setup, cut_case(result.setup), clamped_loss(result)
    tool = tool_modes(result, loss).model
    bands = input_bands(setup, case, loss=loss, mode=result.aligned)
    base = None if setup.grip.springs is None else coarse_model(setup)
    levels = grip_levels(setup, tool, base=base, band=bands[GRIP])
    deepest = deepest_for(setup, case)
    found = []
    for factor in factors:
        now = {grip: softened(model, factor) for grip, model in levels.items()}
        limit = absolute_limit(now[1.0], case.stiffness)
        likely = float(depth_limit(now[1.0], case.matrix, deepest=deepest, shallowest=SHALLOWEST))
        found.append(cut_spread(case, now, limit=limit, likely_depth=likely, deepest=deepest, bands=bands))
    return found
