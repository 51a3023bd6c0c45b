"""The cut along the part: how far from chatter at each place, before and after the pass, and who sings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.beam.not_round import bending_angles
from stickout.fem.beam.work import work_model
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.models import joined, tool_modes
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.setup.bands import exactly
from stickout.fem.setup.check_work import STEADY_CLEAR_MM, sections
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Work
from stickout.fem.study.clamped_loss import CLAMPED, clamped_loss
from stickout.fem.study.result import Result

TOOL, PART = "tool", "part"
# Where the cut is looked at, as shares of the part's length.
SHARES: Final = (0.2, 0.4, 0.6, 0.8, 1.0)


@dataclass(frozen=True)
class CutStation:
    """The cut at one place of the part.

    Attributes
    ----------
    at_mm
        Distance from the chuck or the headstock centre.
    margin, after
        Likely margin at the worst speed with the part as it is, and turned down by the cut [-].
    chatter_hz
        Frequency of the chatter there.
    sings
        ``TOOL`` or ``PART``: whose margin alone is the worse.
    """

    at_mm: float
    margin: float
    after: float
    chatter_hz: float
    sings: str


def cut_along(result: Result, stations_mm: Sequence[float] | None = None) -> list[CutStation]:
    """Return the cut at places along the part.

    Parameters
    ----------
    result
        Modes of a set-up with work and a fully described cut.
    stations_mm
        Where; None: every fifth of the length, and where the set-up cuts.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.

    Source
    ------
    ``stickout.fem.cut.likely`` at every place (computed here) [B.loop].
    """
    setup = result.setup
    if setup.work is None:
        return []
    case, tool = cut_case(setup), tool_modes(result, clamped_loss(result)).model
    return stations_cut(setup, case, tool=tool, stations_mm=stations_mm)


def stations_cut(
    setup: Setup, case: CutCase, *, tool: ModalModel, stations_mm: Sequence[float] | None = None
) -> list[CutStation]:
    """Return the cut at places along the part of a set-up whose tool has been solved.

    Parameters
    ----------
    setup
        The set-up.
    case
        Its cut.
    tool
        Modal model of its tool.
    stations_mm
        Where; None as for ``cut_along``, which also names the source.
    """
    if setup.work is None:
        return []
    thinner = replace(setup, work=turned_down(setup.work, case.depth * 1e3)) if _turns(setup) else setup
    alone = speed_margins(case, tool)
    out = []
    for at in stations_of(setup.work) if stations_mm is None else stations_mm:
        now, then = (work_model(one, loss=CLAMPED.likely, at_mm=at) for one in (setup, thinner))
        if now is None or then is None:
            continue
        here, after = (speed_margins(case, joined(tool, one)) for one in (now, then))
        part = speed_margins(case, now)
        out.append(
            CutStation(
                at_mm=at,
                margin=float(here.margin[here.worst]),
                after=float(after.margin[after.worst]),
                chatter_hz=float(here.chatter_hz[here.worst]),
                sings=TOOL if alone.margin[alone.worst] < part.margin[part.worst] else PART,
            )
        )
    return out


def at_worst_station(setup: Setup, case: CutCase, *, tool: ModalModel) -> Setup:
    """Return a set-up that cuts its part at several places with the cut where it sings first.

    Parameters
    ----------
    setup
        The set-up; with one place, or without a part, it comes back as it is.
    case
        Its cut.
    tool
        Modal model of its tool.
    """
    work = setup.work
    if work is None or not work.stations_mm:
        return setup
    worst = min(stations_cut(setup, case, tool=tool), key=lambda one: min(one.margin, one.after))
    return replace(setup, work=replace(work, cut_at_mm=worst.at_mm))


@dataclass(frozen=True)
class WeakAngle:
    """Margin of the cut with the part at its weakest angle, and on average over a turn [-]."""

    weakest: float
    mean: float


def weak_angle(setup: Setup, case: CutCase, *, tool: ModalModel) -> WeakAngle | None:
    """Return what a part that is not round does to a cut; None for a round one.

    Parameters
    ----------
    setup
        The set-up.
    case
        Its cut.
    tool
        Modal model of its tool.

    Source
    ------
    With many waves on a turn, stable at the weakest angle is stable; between that and the mean nobody can
    tell without following the turn (quasi-static argument, own).
    """
    work = setup.work
    if work is None or work.form == "round":
        return None
    angles, steel = bending_angles(work), setup.materials["work"]
    young = steel.youngs_modulus
    share = angles.weak / angles.mean
    weak = replace(steel, youngs_modulus=exactly(share * young.likely, young.source))
    ends = [setup, replace(setup, materials={**setup.materials, "work": weak})]
    margins = []
    for one in ends:
        part = work_model(one, loss=CLAMPED.likely)
        found = speed_margins(case, joined(tool, part))
        margins.append(float(found.margin[found.worst]))
    return WeakAngle(weakest=min(margins), mean=margins[0])


def stations_of(work: Work) -> list[float]:
    """Return places along a part, none under a steady: those the user named, or shares of it and its cut."""
    if work.stations_mm:
        return list(work.stations_mm)
    wanted = sorted({*(share * work.length_mm for share in SHARES), work.cut_at_mm})
    return [at for at in wanted if all(abs(at - one.at_mm) >= STEADY_CLEAR_MM for one in work.steadies)]


def turned_down(work: Work, depth_mm: float) -> Work:
    """Return the part with every diameter less by twice a depth."""
    steps = tuple(
        one if one.diameter_mm is None else replace(one, diameter_mm=one.diameter_mm - 2 * depth_mm)
        for one in work.steps
    )
    return replace(work, diameter_mm=work.diameter_mm - 2 * depth_mm, steps=steps)


def _turns(setup: Setup) -> bool:
    """Return whether the pass makes the whole part thinner and leaves a wall."""
    work, cut = setup.work, setup.cut
    if work is None or cut is None or cut.operation != "turning":
        return False
    left = sections(turned_down(work, cut.depth_mm or 0.0))
    return all(diameter > bore for _, _, diameter, bore in left)
