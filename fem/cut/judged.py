"""A cut judged: its likely limit, what its band rests on, and the verdict: how every answer begins."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.along import at_worst_station
from stickout.fem.cut.judge import Judge, judge_of
from stickout.fem.cut.likely import LikelyLimit, banded_levels, likely_limit
from stickout.fem.cut.models import ToolModes, coarse_model, tool_modes
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.cut.verdict import Verdict, verdict_of
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.setup.bands import FactorBand, Spread
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import ClampedLoss, clamped_loss
from stickout.fem.study.result import Result


@dataclass(frozen=True)
class JudgedCut:
    """A cut with its verdict, at the worst speed or at all: what nobody asks for is not computed.

    Attributes
    ----------
    likely
        The cut at the likely inputs; its own limit is the one without rubbing.
    bands
        Bands of force, loss and grip.
    levels
        Factor of the grip's stiffness -> modal model of tool and work.
    base
        Modal model of the set-up on a coarse mesh: for ratios.
    judge
        What it is judged by.
    """

    likely: LikelyLimit
    bands: Mapping[str, FactorBand]
    levels: Mapping[float, ModalModel]
    base: ModalModel
    judge: Judge

    @cached_property
    def verdict(self) -> Verdict:
        """Return what is said at each speed."""
        return verdict_of(self.judge)

    @property
    def worst(self) -> SpeedVerdict:
        """Return what is said at the speed with the least likely margin."""
        return self.judge.speeds([self.judge.found.worst])[0]

    @property
    def margin(self) -> Spread:
        """Return the margin at the worst speed [-]: low, likely, high: nine times in ten between them."""
        margin = self.worst.margin
        return Spread(margin.low, margin.likely, margin.high)

    @property
    def depth(self) -> Spread:
        """Return the depth limit at the worst speed [m]: inf where no depth limits."""
        return Spread(*self.worst.depth)


def judged_cut(
    setup: Setup,
    case: CutCase,
    *,
    loss: ClampedLoss,
    tool: ToolModes,
    aligned: int,
    solve: Callable[[Setup], ModalModel] = coarse_model,
) -> JudgedCut:
    """Return the verdict on the cut of a set-up whose tool has been solved.

    Parameters
    ----------
    setup
        The set-up; a part that is cut at several places is judged where it sings first.
    case
        Its cut.
    loss
        The loss factors that count.
    tool
        Modes of its tool.
    aligned
        Index of the mode along the force: its loss counts where the work limits.
    solve
        Gives the modal model of the set-up with another grip, always on the same coarse mesh.

    Raises
    ------
    SolveError
        A coarse solve failed.

    Source
    ------
    ``stickout.fem.cut.speed_margins`` and ``stickout.fem.cut.verdict`` (computed here).
    """
    setup = at_worst_station(setup, case, tool=tool.model)
    likely, base = likely_limit(setup, case, loss=loss, tool=tool), solve(setup)
    bands, levels = banded_levels(likely, aligned=aligned, base=base, solve=solve)
    return JudgedCut(likely, bands, levels, base, judge_of(likely, levels, bands=bands))


def judged_result(result: Result) -> JudgedCut:
    """Return the verdict on the cut of a result.

    Parameters
    ----------
    result
        Modes of a set-up with a fully described cut.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.
    SolveError
        A coarse solve failed.

    Source
    ------
    ``judged_cut``.
    """
    case, loss = cut_case(result.setup), clamped_loss(result)
    return judged_cut(result.setup, case, loss=loss, tool=tool_modes(result, loss), aligned=result.aligned)
