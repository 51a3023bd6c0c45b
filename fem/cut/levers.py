"""What each cheap change does to the margin: every one recomputed, none guessed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.work import work_model
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.absorber import best_tuning, off_tune
from stickout.fem.cut.low_speed import Rubbing, rubbed_margin
from stickout.fem.cut.models import coarse_model, joined
from stickout.fem.cut.turned import TurnedBar, can_turn
from stickout.fem.force.case import CutCase, case_of
from stickout.fem.setup.changes import TENTH as SHORTER
from stickout.fem.setup.changes import shortened
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup

FEED_RAISED: Final = 1.5
_LEAST_SHARE: Final = 0.4


@dataclass(frozen=True)
class CutLever:
    """One change.

    Attributes
    ----------
    key
        overhang, nose_radius, feed, depth, speed, rotation, support or absorber.
    change
        The key's new value, in the units of its name in the set-up: mm, degrees, rpm, Hz, or words.
    factor
        Margin after over margin before [-].
    band
        Low and high of the factor where the law behind it is only a trend; else None.
    """

    key: str
    change: float | str
    factor: float
    band: tuple[float, float] | None = None


@dataclass(frozen=True)
class Judged:
    """What the levers start from: set-up, cut, models of tool and work, margin, coarse model."""

    setup: Setup
    case: CutCase
    tool: ModalModel
    work: ModalModel | None
    margin: float
    base: ModalModel


def levers(judged: Judged, *, turned: TurnedBar, rubbing: Rubbing | None) -> list[CutLever]:
    """Return every lever that the set-up has, the strongest first.

    Parameters
    ----------
    judged
        What is changed.
    turned
        The limit against the rotation of the bar.
    rubbing
        Rubbing of the flank at one of the user's speeds; None where no speed is known.
    """
    found = [*_shorter(judged), *_cut_levers(judged), *_support(judged), *_tuned(judged)]
    if not turned.alike and can_turn(judged.setup):
        found.append(CutLever("rotation", turned.best_deg, turned.at(turned.best_deg) / judged.margin))
    if rubbing is not None:
        found.append(_slower(judged, rubbing))
    return sorted(found, key=lambda one: -one.factor)


def _shorter(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of 10 % less overhang: two coarse meshes, their ratio counts."""
    new = shortened(judged.setup)
    if new is None:
        return
    after = coarse_model(new)
    # A shorter bar sings higher: its absorber is taken as tuned anew by as much.
    after = off_tune(after, tuning=np.asarray(after.omega[0] / judged.base.omega[0]))
    margins = [
        float(absolute_limit(joined(model, judged.work), judged.case.stiffness).margin)
        for model in (judged.base, after)
    ]
    yield CutLever("overhang", new.bar.overhang_mm, margins[1] / margins[0])


def _cut_levers(judged: Judged) -> Iterator[CutLever]:
    """Yield the levers of the cut itself: the same models under another cut."""
    cut, model = judged.case.cut, joined(judged.tool, judged.work)
    nose, feed, depth = cut.nose_radius_mm or 0.0, cut.feed_mm or 0.0, cut.depth_mm or 0.0
    trials = {"depth": (0.5 * depth, replace(cut, depth_mm=0.5 * depth))}
    if feed < nose:
        trials["nose_radius"] = (0.5 * nose, replace(cut, nose_radius_mm=0.5 * nose))
    if FEED_RAISED * feed < 2 * nose:
        trials["feed"] = (FEED_RAISED * feed, replace(cut, feed_mm=FEED_RAISED * feed))
    for key, (value, changed) in trials.items():
        limit = absolute_limit(model, case_of(changed).stiffness)
        yield CutLever(key, value, float(limit.margin) / judged.margin)


def _support(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of a tailstock centre: for work held by a chuck alone, turned outside."""
    work, cut = judged.setup.work, judged.case.cut
    if work is None or judged.work is None or work.held != "chuck" or cut.operation != "turning":
        return
    held = replace(judged.setup, work=replace(work, held="chuck and centre"))
    if any(True for _ in setup_faults(held)):  # an open tube takes no centre
        return
    supported = work_model(held, loss=float(judged.work.eta[0]))
    limit = absolute_limit(joined(judged.tool, supported), judged.case.stiffness)
    yield CutLever("support", "chuck and centre", float(limit.margin) / judged.margin)


def _tuned(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of the absorber's own frequency, where it is off by more than a step of the search."""
    model = joined(judged.tool, judged.work)
    best = best_tuning(model, judged.case.stiffness)
    absorber = judged.setup.absorber
    if best is not None and absorber is not None and best.margin > 1.05 * judged.margin:
        yield CutLever("absorber", best.factor * absorber.frequency_hz, best.margin / judged.margin)


def overhang_for(levers: Sequence[CutLever], overhang_mm: float, *, margin: float) -> float | None:
    """Return the overhang at which a margin would reach one, by the trend of its lever [mm].

    Parameters
    ----------
    levers
        The levers; that of the overhang gives the trend.
    overhang_mm
        The overhang as it is.
    margin
        The likely margin, below one.

    Returns
    -------
    float or None
        Overhang [mm]; None where the trend does not reach that far, or there is none.

    Notes
    -----
    A power law through two overhangs 10 % apart: from 80 to 44 mm it reads 8 % high on the margin of the
    example ``boring_bar_16mm``.

    Source
    ------
    Own extrapolation (computed here).
    """
    lever = next((one for one in levers if one.key == "overhang"), None)
    if lever is None or not lever.factor > 1.0 or not 0.0 < margin < 1.0:
        return None
    share = float(margin ** (-np.log(1.0 - SHORTER) / np.log(lever.factor)))
    return share * overhang_mm if share >= _LEAST_SHARE else None


def _slower(judged: Judged, rubbing: Rubbing) -> CutLever:
    """Return the lever of half the speed: the flank rubs twice as much; a trend with a wide band."""
    model = joined(judged.tool, judged.work)
    factors = []
    for contact in rubbing.contacts:
        now, half = (
            rubbed_margin(model, judged.case, contact=contact, speed=speed)
            for speed in (rubbing.speed, 0.5 * rubbing.speed)
        )
        factors.append(half / now)
    low, likely, high = factors
    return CutLever("speed", 0.5 * rubbing.speed_rpm, likely, (low, high))
