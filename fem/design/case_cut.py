"""The limit of the cut of one case, with its band: what ``cut`` says, without levers and plots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fem.clamped_loss import CLAMPED, clamped_loss_of, modelled_joint
from fem.cut.depth import depth_limit
from fem.cut.receptance import ModalModel
from fem.cut.stability import absolute_limit, limiting_mode
from fem.cutting import deepest_for
from fem.cutting_case import cut_case
from fem.cutting_model import ToolModes, joined
from fem.cutting_spread import GRIP, SHALLOWEST, cut_spread, grip_levels, input_bands, with_work
from fem.design.case_modes import CaseModes
from fem.errors import InputError
from fem.setup import Setup
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


def has_cut(setup: Setup) -> bool:
    """Return whether the cut of a set-up is described far enough for a limit."""
    try:
        cut_case(setup)
    except InputError:
        return False
    return True


def case_cut(
    setup: Setup, modes: CaseModes, *, aligned: int, base: ModalModel, solve: Callable[[Setup], ModalModel]
) -> CaseCut:
    """Return the limit of the cut of a set-up.

    Parameters
    ----------
    setup
        The set-up.
    modes
        Its modes.
    aligned
        Index of the mode that carries most of the spring along the force.
    base
        The set-up's modal model on a coarse mesh.
    solve
        Gives the modal model of another grip on the same mesh.

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
    case, loss = cut_case(setup), clamped_loss_of(setup, modes.energy)
    tool = ToolModes(modes.model(loss.loss.likely), modes.moving)
    work = work_model(setup, loss=CLAMPED.likely)
    both = joined(tool.model, work)
    limit = absolute_limit(both, case.stiffness)
    deepest = deepest_for(setup, case)
    likely = float(depth_limit(both, case.matrix, deepest=deepest, shallowest=SHALLOWEST))
    first = int(limiting_mode(both, limit, matrix=case.stiffness))
    limiting = int(tool.numbers[first]) if first < len(tool.numbers) else None
    bands = input_bands(setup, case, loss=loss, mode=aligned if limiting is None else limiting)
    jointed = modelled_joint(setup) is not None
    grips = grip_levels(setup, tool.model, base=base if jointed else None, band=bands[GRIP], solve=solve)
    found = cut_spread(
        case, with_work(grips, work), limit=limit, likely_depth=likely, deepest=deepest, bands=bands
    )
    return CaseCut(
        margin=(found.margin.low, float(limit.margin), found.margin.high),
        depth=(found.depth.low, likely, found.depth.high),
        chatter_hz=float(limit.chatter_hz),
        limiting=limiting,
    )
