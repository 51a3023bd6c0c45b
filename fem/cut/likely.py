"""The likely limit of a cut and its band: what every answer on a cut begins with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from stickout.fem.beam.work import work_model
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import Limit, absolute_limit, limiting_mode
from stickout.fem.cut.models import ToolModes, coarse_model, joined
from stickout.fem.cut.spread import (
    GRIP,
    CutSpread,
    cut_spread,
    grip_levels,
    input_bands,
    with_work,
)
from stickout.fem.force.case import CutCase
from stickout.fem.setup.bands import FactorBand
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import CLAMPED, ClampedLoss
from stickout.fem.units import MM


@dataclass(frozen=True)
class LikelyLimit:
    """The limit of a cut at the likely inputs.

    Attributes
    ----------
    setup, case, loss
        What was asked: the set-up, its cut, the loss factors that count.
    tool, work, both
        Modal models of the tool, of the work (None without one), and of the motion between them.
    limit
        The absolute limit.
    limiting
        Index of the mode that limits, as ``ToolModes`` numbers them; None where the work does.
    deepest
        Greatest depth that was looked at [m].
    """

    setup: Setup
    case: CutCase
    loss: ClampedLoss
    tool: ModalModel
    work: ModalModel | None
    both: ModalModel
    limit: Limit
    limiting: int | None
    deepest: float

    @property
    def margin(self) -> float:
        """Return the margin [-]."""
        return float(self.limit.margin)


def likely_limit(setup: Setup, case: CutCase, *, loss: ClampedLoss, tool: ToolModes) -> LikelyLimit:
    """Return the limit of a cut at the likely inputs.

    Parameters
    ----------
    setup
        The set-up.
    case
        Its cut.
    loss
        The loss factors that count.
    tool
        Modes of its tool.
    """
    work = work_model(setup, loss=CLAMPED.likely)
    both = joined(tool.model, work)
    limit = absolute_limit(both, case.stiffness)
    deepest = deepest_for(setup, case)
    first = int(limiting_mode(both, limit, matrix=case.stiffness))
    return LikelyLimit(
        setup=setup,
        case=case,
        loss=loss,
        tool=tool.model,
        work=work,
        both=both,
        limit=limit,
        limiting=int(tool.numbers[first]) if first < len(tool.numbers) else None,
        deepest=deepest,
    )


def spread_of(
    likely: LikelyLimit, bands: Mapping[str, FactorBand], *, levels: Mapping[float, ModalModel]
) -> CutSpread:
    """Return the band of the margin from bands of the inputs and models at levels of the grip."""
    return cut_spread(likely.case, levels, limit=likely.limit, bands=bands)


def banded_levels(
    likely: LikelyLimit,
    *,
    aligned: int,
    base: ModalModel,
    solve: Callable[[Setup], ModalModel] = coarse_model,
) -> tuple[dict[str, FactorBand], dict[float, ModalModel]]:
    """Return the bands of a cut's inputs, and models of tool and work at levels of the grip's stiffness.

    Parameters
    ----------
    likely
        The likely limit.
    aligned
        Index of the mode along the force: its loss counts where the work limits.
    base
        Modal model of the set-up on a coarse mesh.
    solve
        Gives that of another grip on the same mesh.

    Raises
    ------
    SolveError
        A coarse solve failed.
    """
    setup, case = likely.setup, likely.case
    mode = aligned if likely.limiting is None else likely.limiting
    bands = input_bands(setup, case, loss=likely.loss, mode=mode)
    softens = setup.grip.springs is not None or setup.grip.at_both_ends or setup.post is not None
    faces = base if softens else None
    grips = grip_levels(setup, likely.tool, base=faces, band=bands[GRIP], solve=solve)
    return bands, with_work(grips, setup, work=likely.work)


def deepest_for(setup: Setup, case: CutCase) -> float:
    """Return the greatest depth that is looked at [m]: half the bar's size, and more than the cut itself."""
    bar = setup.bar
    size = min(one for one in (bar.diameter_mm, bar.width_mm, bar.height_mm) if one) * MM
    return max(0.5 * size, 2.0 * case.depth)
