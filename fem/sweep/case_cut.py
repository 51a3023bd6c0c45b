"""The verdict on the cut of one case, with its band: what ``cut`` says, without levers and plots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.judged import judged_cut
from stickout.fem.cut.models import ToolModes
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import clamped_loss_of
from stickout.fem.sweep.case_modes import CaseModes


@dataclass(frozen=True)
class CaseCut:
    """The verdict at the worst of a case's speeds.

    Attributes
    ----------
    margin
        Margin [-], low, likely and high.
    depth
        Depth limit [m], low, likely and high; inf where no depth limits.
    chatter_hz
        Note of the chatter [Hz].
    p_quiet, verdict
        Chance that it stays quiet, and the word for it.
    limiting
        Index from 0 of the mode that limits; None where the work does.
    """

    margin: tuple[float, float, float]
    depth: tuple[float, float, float]
    chatter_hz: float
    p_quiet: float
    verdict: str
    limiting: int | None


def case_cut(
    setup: Setup,
    modes: CaseModes,
    *,
    case: CutCase,
    aligned: int,
    solve: Callable[[Setup], ModalModel],
) -> CaseCut:
    """Return the verdict on the cut of a set-up, at the speed with the least margin.

    Parameters
    ----------
    setup
        The set-up.
    modes
        Its modes.
    case
        Its cut.
    aligned
        Index of the mode that carries most of the spring along the force.
    solve
        Gives the modal model of the set-up or one of another grip, all on the same coarse mesh.

    Raises
    ------
    InputError
        A mode has no loss.
    SolveError
        A coarse solve failed.

    Source
    ------
    As stickout.fem.cut.answer.
    """
    loss = clamped_loss_of(setup, modes.energy)
    tool = ToolModes(modes.model(loss.loss.likely), modes.moving)
    found = judged_cut(setup, case, loss=loss, tool=tool, aligned=aligned, solve=solve)
    worst, margin, depth = found.worst, found.margin, found.depth
    return CaseCut(
        margin=(margin.low, margin.likely, margin.high),
        depth=(depth.low, depth.likely, depth.high),
        chatter_hz=worst.chatter_hz,
        p_quiet=worst.p_quiet,
        verdict=worst.verdict,
        limiting=found.likely.limiting,
    )
