"""The verdict on a cut at each speed: quiet, may sing or noisy, its chance, and what heard cuts teach."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.depths import CutDepths
from stickout.fem.cut.draws import (
    FORCE,
    GRIP,
    LOSS,
    THRUST,
    WAVE,
    Draws,
    chance,
    drawn_cut,
    drawn_factors,
    with_push,
)
from stickout.fem.cut.flank import clearance, flank_of, wave_star
from stickout.fem.cut.heard import HeardAnswer, heard_answers
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.models import trimmed
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.cut.speed_verdict import NOISY_TO, QUIET_FROM, SpeedVerdict, at_speed
from stickout.fem.cut.usual_edge import edge_bands
from stickout.fem.force.push import THRUST_HIGH, THRUST_LOW
from stickout.fem.setup.bands import Band, FactorBand
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

THRUST_BAND: Final = FactorBand(THRUST, THRUST_LOW, THRUST_HIGH)
_SCANNED = 30


@dataclass(frozen=True)
class Crossing:
    """Cutting speeds [m/s] at which the chance falls to 0.7, 0.5 and 0.3, and the likely margin to one.

    None where that is not reached between a tenth of the slowest speed and three times the fastest.
    """

    quiet_up_to: float | None
    even: float | None
    noisy_from: float | None
    likely: float | None


@dataclass(frozen=True)
class Verdict:
    """The verdict on a cut, speed by speed.

    Attributes
    ----------
    speeds
        One for each speed.
    speeds_assumed, diameter
        Whether 25, 50 and 100 m/min were taken; diameter of the work [m].
    worst
        Index of the speed with the least likely margin.
    crossing
        Where the word changes.
    slowing_helps
        False where an even chance lies below half the slowest speed.
    wave_star, wave_after
        The wave that the flank holds down, as it was taken and as the heard cuts have it [m].
    clearance, edge
        What else was taken for the flank: its angle [rad]; ground, honed, worn or land.
    depth
        Depth limit at the worst speed [m], low, likely, high; inf where no depth limits.
    try_next
        The speed whose hearing would tell most [rpm].
    heard
        What each heard cut said.
    draws
        The drawn inputs that the chances rest on, heard cuts counted.
    """

    speeds: tuple[SpeedVerdict, ...]
    speeds_assumed: bool
    diameter: float | None
    worst: int
    crossing: Crossing
    slowing_helps: bool
    wave_star: Band
    wave_after: float
    clearance: Band
    edge: str
    depth: tuple[float, float, float]
    try_next: float | None
    heard: tuple[HeardAnswer, ...]
    draws: Draws

    @property
    def stated(self) -> SpeedVerdict:
        """Return the speed that changes are told at: the chance nearest even, of like ones the slowest."""
        return min(self.speeds, key=lambda one: (round(abs(one.p_quiet - 0.5), 2), one.cutting_speed))

    @property
    def poles_stable(self) -> bool:
        """Return whether the tool with its rubbing flank is stable by itself at every speed."""
        return all(one.poles_stable for one in self.speeds)


def verdict_of(
    likely: LikelyLimit, levels: Mapping[float, ModalModel], *, bands: Mapping[str, FactorBand]
) -> Verdict:
    """Return the verdict on a cut.

    Parameters
    ----------
    likely
        The cut at the likely inputs.
    levels
        Factor of the grip's stiffness -> modal model of tool and work.
    bands
        Bands of force, loss and grip.

    Returns
    -------
    Verdict
        Likely margins solved, bands and chances from drawn inputs.

    Source
    ------
    Damped stability equation of ``fem/THEORY.md`` (computed here); words by chance: own choice.
    """
    case, found = likely.case, speed_margins(likely.case, likely.both)
    star = wave_star(case)
    known = {
        FORCE: FactorBand(FORCE, case.material.low, case.material.high),
        **{name: bands[name] for name in (LOSS, GRIP)},
        THRUST: THRUST_BAND,
        WAVE: FactorBand(WAVE, star.low / star.likely, star.high / star.likely),
    }
    usual = edge_bands(likely.setup.usual)
    factors = with_push(drawn_factors(known | usual), case)
    ends = (float(found.speeds.cutting.min()) / 10, 3 * float(found.speeds.cutting.max()))
    levels = {grip: trimmed(model, likely.limit) for grip, model in levels.items()}
    drawn = drawn_cut(case, levels, factors=factors, speeds=ends, usual=usual)
    weights = np.full(len(factors[LOSS]), 1 / len(factors[LOSS]))
    heard, after = heard_answers(likely, levels, drawn=drawn, weights=weights)
    deep = CutDepths(likely, found)
    speeds = tuple(
        at_speed(at, found, drawn=drawn, weights=(weights, after), deep=deep)
        for at in range(len(found.margin))
    )
    scan = np.geomspace(*ends, _SCANNED)
    crossing = _crossing(likely, scan, chances=[chance(drawn.margins(v), after) for v in scan])
    slowest = min(range(len(speeds)), key=lambda at: speeds[at].cutting_speed)
    even = crossing.even
    helps = speeds[slowest].p_quiet >= 0.5 or (
        even is not None and even >= 0.5 * speeds[slowest].cutting_speed
    )
    asked = [one for one in speeds if one.speed_rpm is not None]
    diameter = case.cut.work_diameter_mm
    return Verdict(
        speeds=speeds,
        speeds_assumed=found.speeds.assumed,
        diameter=None if diameter is None else diameter * MM,
        worst=found.worst,
        crossing=crossing,
        slowing_helps=helps,
        wave_star=star,
        wave_after=star.likely * float(np.exp(after @ np.log(factors[WAVE]))),
        clearance=clearance(case),
        edge="land" if case.cut.edge_land_mm is not None else case.cut.edge or "ground",
        depth=deep.limits(found.worst, speeds[found.worst].margin),
        try_next=min(asked, key=lambda one: abs(one.p_quiet - 0.5)).speed_rpm if asked else None,
        heard=heard,
        draws=Draws(drawn, after),
    )


def _crossing(likely: LikelyLimit, scan: FloatArray, *, chances: Sequence[float]) -> Crossing:
    """Return where chance and likely margin fall, going up in speed."""
    flank = flank_of(likely.case)
    margin = absolute_limit(likely.both, likely.case.stiffness, flank=flank / scan[:, None, None]).margin
    quiet, even, noisy = (_falls(scan, np.array(chances), level) for level in (QUIET_FROM, 0.5, NOISY_TO))
    return Crossing(quiet, even, noisy, _falls(scan, np.minimum(margin, 1e6), 1.0))


def _falls(scan: FloatArray, values: FloatArray, level: float) -> float | None:
    """Return the speed at which values fall through a level; None where they do not."""
    below = np.flatnonzero(values < level)
    if not below.size or below[0] == 0:
        return None
    at = int(below[0])
    high, low = values[at - 1] - level, values[at] - level
    ends = np.log(scan[at - 1 : at + 1])
    return float(np.exp(ends[0] + (ends[1] - ends[0]) * high / (high - low)))
