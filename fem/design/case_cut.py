"""The limit of the cut of one case, with its band: what ``cut`` says, without levers and plots."""

from __future__ import annotations

from dataclasses import dataclass

from fem.clamped_loss import CLAMPED, clamped_loss, modelled_joint
from fem.cut.depth import depth_limit
from fem.cut.stability import absolute_limit, limiting_mode
from fem.cutting import deepest_cut
from fem.cutting_case import cut_case
from fem.cutting_model import coarse_model, joined, tool_modes
from fem.cutting_spread import GRIP, SHALLOWEST, cut_spread, grip_levels, input_bands, with_work
from fem.result import Result
from fem.work import work_model


@dataclass(frozen=True)
class CaseCut:
    """Margin [-] and depth limit [m], low, likely and high (inf: no depth limits); the chatter's note [Hz].

    ``limiting`` is the index from 0 of the mode that limits; None where the work does.
    """

    margin: tuple[float, float, float]
    depth: tuple[float, float, float]
    chatter_hz: float
    limiting: int | None


def case_cut(result: Result) -> CaseCut:
    """Return the limit of the cut of a result.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.
    SolveError
        A coarse solve failed.

    Source
    ------
    As fem.cutting.
    """
    setup, case, loss = result.setup, cut_case(result.setup), clamped_loss(result)
    tool = tool_modes(result, loss)
    work = work_model(setup, loss=CLAMPED.likely)
    both = joined(tool.model, work)
    limit = absolute_limit(both, case.stiffness)
    deepest = deepest_cut(result, case)
    likely = float(depth_limit(both, case.matrix, deepest=deepest, shallowest=SHALLOWEST))
    first = int(limiting_mode(both, limit, matrix=case.stiffness))
    limiting = int(tool.numbers[first]) if first < len(tool.numbers) else None
    bands = input_bands(setup, case, loss=loss, mode=result.aligned if limiting is None else limiting)
    base = coarse_model(setup) if modelled_joint(setup) is not None else None
    levels = with_work(grip_levels(setup, tool.model, base=base, band=bands[GRIP]), work)
    found = cut_spread(case, levels, limit=limit, likely_depth=likely, deepest=deepest, bands=bands)
    return CaseCut(
        margin=(found.margin.low, float(limit.margin), found.margin.high),
        depth=(found.depth.low, likely, found.depth.high),
        chatter_hz=float(limit.chatter_hz),
        limiting=limiting,
    )
