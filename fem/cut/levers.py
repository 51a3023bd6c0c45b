"""What each change does to the cut at one of its speeds: every one rerun, each with its price."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from stickout.fem.beam.work import work_model
from stickout.fem.chatter.changed import turned
from stickout.fem.cut.absorber import best_tuning, off_tune
from stickout.fem.cut.lever import (
    CENTRE,
    PASSES,
    REACH,
    RETUNE,
    ROUGHNESS,
    RUBS,
    SCREWS,
    STEADY,
    TIME,
    WEAKER,
    CutLever,
    Judged,
    Outcome,
)
from stickout.fem.cut.lever_pairs import new_bar, pairs
from stickout.fem.cut.low_speed import least_chip
from stickout.fem.cut.models import joined
from stickout.fem.cut.speed_margins import CutSpeeds, margins_at
from stickout.fem.cut.speed_verdict import QUIET, QUIET_FROM
from stickout.fem.cut.turned import TurnedBar, can_turn
from stickout.fem.force.case import CutCase, case_of
from stickout.fem.setup.changes import at_sizes, next_whole, shortened
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_changes import beside_cut_mm, with_centre, with_steady
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import cut_down

FEED_RAISED: Final = 1.5
# The likely margin that goes with seven in ten (computed here).
_QUIET_MARGIN: Final = 1.35
# A speed this many times slower than asked for is no longer a way to do the job.
_SLOWEST: Final = 6.0
_NARROWER: Final = 0.75


def levers(judged: Judged, *, turned_to: TurnedBar) -> list[CutLever]:
    """Return every change that the set-up has, in the order in which a turner would try them.

    Parameters
    ----------
    judged
        What is changed.
    turned_to
        The limit against the rotation of the bar.

    Returns
    -------
    list of CutLever
        Support, speed, overhang, nose and depth, feed, what turns or tunes, two at once, a new bar.

    Source
    ------
    Each is the verdict of another cut, or of another set-up on a coarse mesh whose error is that of this
    one's (computed here); the order is common practice.
    """
    found = [*_support(judged), *_slower(judged), *_shorter(judged), *_cut_levers(judged), *_blade(judged)]
    if not turned_to.alike and can_turn(judged.setup):
        found.append(_turned(judged, turned_to.handy_deg))
    found += _tuned(judged)
    return [*found, *pairs(judged, found), *new_bar(judged)]


def _slower(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of half the speed, or of the fastest quiet one where half is not slow enough."""
    verdict, now = judged.verdict, judged.verdict.stated
    speed, quiet = 0.5 * now.cutting_speed, verdict.crossing.quiet_up_to
    if verdict.slowing_helps and quiet is not None and verdict.draws.chance(speed) < QUIET_FROM:
        speed = quiet if now.cutting_speed / _SLOWEST < quiet < speed else speed
    share = speed / now.cutting_speed
    told = 60 * now.cutting_speed if now.speed_rpm is None else now.speed_rpm
    # Half of a speed as a gearbox tells it; a crossing, or a speed only tried, is not known so well.
    known = share == 0.5 and (told < 100 or float(told).is_integer())
    change = cut_down(share * told, 3 if known else 2)
    speed = now.cutting_speed * change / told
    rpm = None if now.speed_rpm is None else change
    speeds = CutSpeeds((rpm,), np.array([speed]), assumed=False)
    margin = float(margins_at(judged.case, judged.both, speeds=speeds).margin[0])
    after = Outcome(margin, verdict.draws.chance(speed))
    key = "cutting_speed" if rpm is None else "speed"
    yield CutLever(key, change, judged.before, after, TIME, told / change)


def _shorter(judged: Judged) -> Iterator[CutLever]:
    """Yield the levers of less overhang; where no speed is quiet, with one that should make it so."""
    setup, found = judged.setup, []
    for new in (shortened(setup), next_whole(setup)):
        if new is not None:
            found.append(_at_overhang(judged, new))
    yield from found
    if not found or found[-1].quiet or any(one.verdict == QUIET for one in judged.verdict.speeds):
        return
    last, ends = found[-1], [math.log(setup.bar.overhang_mm), math.log(float(found[-1].change))]
    if last.factor > 1.0:
        share = math.log(_QUIET_MARGIN / judged.before.margin) / math.log(last.factor)
        reach = math.exp(ends[0] + (ends[1] - ends[0]) * share)
        new = at_sizes(setup, int(reach / setup.bar.size_mm))
        if new is not None and new.bar.overhang_mm < 0.97 * float(last.change):
            yield _at_overhang(judged, new)


def _at_overhang(judged: Judged, new: Setup) -> CutLever:
    """Return the lever of another overhang."""
    return CutLever(
        "overhang", new.bar.overhang_mm, judged.before, _rerun(judged, new, case=judged.case), REACH
    )


def _rerun(judged: Judged, new: Setup, *, case: CutCase) -> Outcome:
    """Return the outcome of another set-up: on a coarse mesh, made good by the error of this one's."""
    return judged.outcome(case, judged.other_tool(new), fix=judged.mesh_error)


def _cut_levers(judged: Judged) -> Iterator[CutLever]:
    """Yield the levers of the cut itself: the same models under another cut."""
    cut, model = judged.case.cut, judged.few(judged.both)
    nose, feed, depth = cut.nose_radius_mm or 0.0, cut.feed_mm or 0.0, cut.depth_mm or 0.0
    parting, trials = cut.operation == "parting", []
    if feed < nose and not parting:
        half = replace(cut, nose_radius_mm=0.5 * nose)
        trials.append(("nose_radius", 0.5 * nose, case_of(half), (ROUGHNESS, 2.0)))
    if not parting:
        lighter = case_of(replace(cut, depth_mm=0.5 * depth))
        rubs = float(lighter.edge.mean_chip) < least_chip(cut).likely
        trials.append(("depth", 0.5 * depth, lighter, (RUBS, 1.0) if rubs else (PASSES, 2.0)))
    if FEED_RAISED * feed < 2 * nose or parting:
        raised = float(f"{FEED_RAISED * feed:.10g}")
        more = replace(cut, feed_mm=raised)
        trials.append(("feed", raised, case_of(more), (ROUGHNESS, FEED_RAISED**2)))
    for key, value, case, (price, cost) in trials:
        yield CutLever(key, value, judged.before, judged.outcome(case, model), price, cost)


def _blade(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of a narrower parting blade: it cuts less, and gives way sideways more."""
    bar, cut = judged.setup.bar, judged.case.cut
    if cut.operation != "parting" or cut.depth_mm is None or bar.width_mm is None:
        return
    if not math.isclose(bar.width_mm, cut.depth_mm, rel_tol=0.05):
        return  # the bar that is described is not the blade
    width = _NARROWER * bar.width_mm
    thin = replace(cut, depth_mm=_NARROWER * cut.depth_mm)
    new = replace(judged.setup, bar=replace(bar, width_mm=width), cut=thin)
    if any(True for _ in setup_faults(new)):
        return
    yield CutLever("blade", width, judged.before, _rerun(judged, new, case=case_of(thin)), WEAKER)


def _support(judged: Judged) -> Iterator[CutLever]:
    """Yield the levers of a springy centre, for work in a chuck alone, and of a steady beside the cut."""
    work, cut = judged.setup.work, judged.case.cut
    if work is None or judged.work is None or cut.operation != "turning":
        return
    beside = beside_cut_mm(work)
    tried: list[tuple[str, float | str, Work, str]] = [("steady", beside, with_steady(work, beside), STEADY)]
    if work.held == "chuck":
        tried.insert(0, ("support", "chuck and centre", with_centre(work), CENTRE))
    for key, change, other, price in tried:
        held = replace(judged.setup, work=other)
        if next(setup_faults(held), None) is None:  # an open tube takes no centre
            both = joined(judged.tool, work_model(held, loss=float(judged.work.eta[0])))
            yield CutLever(key, change, judged.before, judged.outcome(judged.case, both), price)


def _turned(judged: Judged, angle_deg: float) -> CutLever:
    """Return the lever of the section turned in its grip."""
    by = np.array([angle_deg - judged.setup.bar.rotation_deg])
    model = turned(judged.tool, by)
    single = replace(
        model,
        phi=model.phi[0],
        static=model.static[0],
        attached=model.attached and replace(model.attached, cross=model.attached.cross[0]),
    )
    outcome = judged.outcome(judged.case, judged.few(joined(single, judged.work)))
    return CutLever("rotation", angle_deg, judged.before, outcome, SCREWS)


def _tuned(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of the absorber's own frequency, where it is off by more than a step of the search."""
    model, absorber = judged.both, judged.setup.absorber
    best = best_tuning(model, judged.case.stiffness)
    if best is None or absorber is None or not best.margin > 1.05 * float(judged.limit.margin):
        return
    outcome = judged.outcome(judged.case, off_tune(judged.few(model), tuning=np.asarray(best.factor)))
    yield CutLever("absorber", best.factor * absorber.frequency_hz, judged.before, outcome, RETUNE)
