"""The limit of the cut of one case, with its band: what ``cut`` says, without levers and plots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.likely import likely_limit, limit_band
from stickout.fem.cut.models import ToolModes
from stickout.fem.errors import InputError
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import clamped_loss_of
from stickout.fem.sweep.case_modes import CaseModes


@dataclass(frozen=True)
class CaseCut:
    """Margin [-] and depth limit [m], low, likely and high (inf: no depth limits); the chatter's note [Hz].

    ``limiting`` is the index from 0 of the mode that limits; None where the work does.
    """

    margin: tuple[float, float, float]
    depth: tuple[float, float, float]
    chatter_hz: float
    limiting: int | None


def described_case(setup: Setup) -> CutCase | None:
    """Return the cut of a set-up; None where it is not described far enough for a limit."""
    try:
        return cut_case(setup)
    except InputError:
        return None


def case_cut(
    setup: Setup,
    modes: CaseModes,
    *,
    case: CutCase,
    aligned: int,
    base: ModalModel,
    solve: Callable[[Setup], ModalModel],
) -> CaseCut:
    """Return the limit of the cut of a set-up.

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
    base
        The set-up's modal model on a coarse mesh.
    solve
        Gives the modal model of another grip on the same mesh.

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
    likely = likely_limit(setup, case, loss=loss, tool=tool)
    band = limit_band(likely, aligned=aligned, base=base, solve=solve)
    return CaseCut(
        margin=(band.margin.low, likely.margin, band.margin.high),
        depth=(band.depth.low, likely.depth, band.depth.high),
        chatter_hz=float(likely.limit.chatter_hz),
        limiting=likely.limiting,
    )
