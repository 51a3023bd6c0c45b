"""The verdict on a cut at each speed: quiet, may sing or noisy, its chance, and what heard cuts teach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.draws import WAVE, Draws
from stickout.fem.cut.flank import clearance, flank_of
from stickout.fem.cut.heard import HeardAnswer
from stickout.fem.cut.judge import Judge, judged_span
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.speed_verdict import NOISY_TO, QUIET_FROM, SpeedVerdict
from stickout.fem.setup.bands import Band
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

_SCANNED: Final = 30


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
    try_next: float | None
    heard: tuple[HeardAnswer, ...]
    draws: Draws

    @property
    def stated(self) -> SpeedVerdict:
        """Return the speed that changes are told at: the chance nearest even, of like ones the slowest."""
        return min(self.speeds, key=lambda one: (round(abs(one.p_quiet - 0.5), 2), one.cutting_speed))

    @property
    def depth(self) -> tuple[float, float, float]:
        """Return the depth limit at the worst speed [m], low, likely, high; inf where no depth limits."""
        return self.speeds[self.worst].depth

    @property
    def poles_stable(self) -> bool:
        """Return whether the tool with its rubbing flank is stable by itself at every speed."""
        return all(one.poles_stable for one in self.speeds)


def verdict_of(judge: Judge) -> Verdict:
    """Return the verdict on a cut at all its speeds.

    Parameters
    ----------
    judge
        The cut, ready to be judged.

    Source
    ------
    Damped stability equation of ``fem/THEORY.md`` (computed here); words by chance: own choice.
    """
    likely, found, draws = judge.likely, judge.found, judge.draws
    case, after = likely.case, draws.weights
    speeds = judge.speeds(range(len(found.margin)))
    scan = np.geomspace(*judged_span(found.speeds), _SCANNED)
    crossing = _crossing(likely, scan, chances=[draws.chance(v) for v in scan])
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
        wave_star=judge.star,
        wave_after=judge.star.likely * float(np.exp(after @ np.log(draws.drawn.factors[WAVE]))),
        clearance=clearance(case),
        edge="land" if case.cut.edge_land_mm is not None else case.cut.edge or "ground",
        try_next=min(asked, key=lambda one: abs(one.p_quiet - 0.5)).speed_rpm if asked else None,
        heard=judge.heard,
        draws=draws,
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
