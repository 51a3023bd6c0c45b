"""The verdict on a cut at each speed: quiet, may sing or noisy, its chance, and what heard cuts teach."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.lobes import waves_per_turn
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.poles import rubbed_poles
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.depths import Chance, CutDepths
from stickout.fem.cut.draws import (
    FORCE,
    GRIP,
    LOSS,
    THRUST,
    WAVE,
    DrawnCut,
    Draws,
    chance,
    drawn_cut,
    drawn_factors,
    weighted_quantile,
)
from stickout.fem.cut.flank import ceiling_of, clearance, flank_of, wave_star
from stickout.fem.cut.heard import HeardAnswer, heard_answers
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.models import trimmed
from stickout.fem.cut.speed_margins import SpeedMargins, speed_margins
from stickout.fem.cut.spread import SHALLOWEST
from stickout.fem.setup.bands import Band, FactorBand
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

QUIET, MAY_SING, NOISY = "quiet", "may sing", "noisy"
QUIET_FROM: Final = 0.70
NOISY_TO: Final = 0.30
SURE: Final = 0.95
WHISPER: Final = 3e-6
THRUST_BAND: Final = FactorBand(THRUST, 0.75, 1.25)
_SCANNED = 30


@dataclass(frozen=True)
class SpeedVerdict:
    """The verdict at one speed.

    Attributes
    ----------
    speed_rpm
        None where the work's diameter is not known.
    cutting_speed
        Cutting speed [m/s].
    margin
        The margin.
    p_quiet, p_before
        Chance that it stays quiet, with and without the heard cuts.
    verdict
        quiet, may sing or noisy.
    surely
        Whether 95 of 100 draws lie on its side of one.
    waves
        Waves on one turn (inf where the spindle's speed is not known).
    wavelength
        Wave on the work [m].
    chatter_hz
        Pitch if it sings.
    ceiling
        Height at which the back of the edge stops the vibration [m], about.
    depth_limit
        Likely depth limit [m]; None where no depth limits, 0 where even the shallowest sings.
    quiet_depth
        Depth at which the chance falls below 0.7 [m]; None where it does not, or is not quiet now.
    poles_stable
        Whether the tool with its rubbing flank is stable by itself.
    """

    speed_rpm: float | None
    cutting_speed: float
    margin: Chance
    p_quiet: float
    p_before: float
    verdict: str
    surely: bool
    waves: float
    wavelength: float
    chatter_hz: float
    ceiling: float
    depth_limit: float | None
    quiet_depth: float | None
    poles_stable: bool

    @property
    def whispers(self) -> bool:
        """Return whether the flank stops the vibration before it is worth hearing."""
        return self.ceiling < WHISPER


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
    wave_star, clearance, edge
        What was taken for the flank: [m], [rad], ground, honed, worn or land.
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
    known = {name: bands[name] for name in (FORCE, LOSS, GRIP)} | {
        THRUST: THRUST_BAND,
        WAVE: FactorBand(WAVE, star.low / star.likely, star.high / star.likely),
    }
    factors = drawn_factors(known)
    ends = (float(found.speeds.cutting.min()) / 10, 3 * float(found.speeds.cutting.max()))
    levels = {grip: trimmed(model, likely.limit) for grip, model in levels.items()}
    drawn = drawn_cut(case, levels, factors=factors, speeds=ends)
    weights = np.full(len(factors[LOSS]), 1 / len(factors[LOSS]))
    heard, after = heard_answers(likely, levels, drawn=drawn, weights=weights)
    deep = CutDepths(likely, found)
    speeds = tuple(
        _at_speed(at, found, drawn=drawn, weights=(weights, after), deep=deep)
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
        clearance=clearance(case),
        edge="land" if case.cut.edge_land_mm is not None else case.cut.edge or "ground",
        depth=deep.limits(found.worst, speeds[found.worst].margin),
        try_next=min(asked, key=lambda one: abs(one.p_quiet - 0.5)).speed_rpm if asked else None,
        heard=heard,
        draws=Draws(drawn, after),
    )


def _at_speed(
    at: int,
    found: SpeedMargins,
    *,
    drawn: DrawnCut,
    weights: tuple[FloatArray, FloatArray],
    deep: CutDepths,
) -> SpeedVerdict:
    """Return the verdict at one speed."""
    case, speed, rpm = deep.case, float(found.speeds.cutting[at]), found.speeds.rpm[at]
    margins, likely, hertz = drawn.margins(speed), float(found.margin[at]), float(found.chatter_hz[at])
    before, after = (chance(margins, one) for one in weights)
    low, high = (weighted_quantile(margins, weights[1], share=share) for share in (0.1, 0.9))
    word = QUIET if after >= QUIET_FROM else NOISY if after <= NOISY_TO else MAY_SING
    stable = bool(np.all(rubbed_poles(deep.model, flank_of(case) / speed).real < 0.0))
    word = word if stable else MAY_SING
    above = float(weights[1] @ (margins > 1.0))
    sure = above >= SURE if word == QUIET else 1 - above >= SURE if word == NOISY else False
    chances = np.array([chance(margins * one, weights[1]) for one in deep.ratio(at)])
    quiet = deep.first(chances, QUIET_FROM, start=deep.here) if word == QUIET else float("inf")
    limit = float(deep.limit[at])
    wave = speed / hertz
    return SpeedVerdict(
        speed_rpm=rpm,
        cutting_speed=speed,
        margin=Chance(min(low, likely), likely, max(high, likely)),
        p_quiet=after,
        p_before=before,
        verdict=word,
        surely=bool(sure),
        waves=float("inf") if rpm is None else float(waves_per_turn(2 * np.pi * hertz, rpm)),
        wavelength=wave,
        chatter_hz=hertz,
        ceiling=ceiling_of(wave, clearance(case).likely),
        depth_limit=None if not np.isfinite(limit) else 0.0 if limit <= SHALLOWEST else limit,
        quiet_depth=quiet if np.isfinite(quiet) else None,
        poles_stable=stable,
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
