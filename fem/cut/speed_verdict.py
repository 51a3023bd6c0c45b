"""The verdict on a cut at one speed: quiet, may sing or noisy, its chance, and how deep it stays quiet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.changed import picked
from stickout.fem.chatter.lobes import waves_per_turn
from stickout.fem.chatter.poles import rubbed_poles
from stickout.fem.cut.audible import WHISPER, audible
from stickout.fem.cut.depths import Chance, CutDepths
from stickout.fem.cut.draws import DrawnCut, chance, weighted_quantile
from stickout.fem.cut.flank import ceiling_of, clearance, flank_of
from stickout.fem.cut.speed_margins import CutSpeeds, SpeedMargins, margins_at
from stickout.fem.cut.spread import SHALLOWEST
from stickout.fem.setup.bands import NINE_IN_TEN
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

QUIET, MAY_SING, NOISY = "quiet", "may sing", "noisy"
QUIET_FROM: Final = 0.70
NOISY_TO: Final = 0.30
SURE: Final = 0.95
# A lighter cut than this is not dialled in by hand [m].
_TOO_LIGHT: Final = 0.01 * MM
_WELL_HELD: Final = 5.0


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
        Pitch if it sings: of what can be heard, where anything can.
    ceiling
        Height at which the back of the edge stops the vibration [m], about.
    depth
        Depth limit [m], low, likely and high; inf where no depth limits.
    depth_limit
        Likely depth limit [m]; None where no depth limits, 0 where even the shallowest sings.
    quiet_depth
        Depth at which the chance falls below 0.7 [m]; None where it does not, or is not quiet now.
    deepest_quiet
        Deepest cut that is quiet [m]: inf where no limit was found, 0 where none is.
    noisy_depth
        Depth beyond this one's from which the cut is noisy [m]; None where there is none.
    poles_stable
        Whether the tool with its rubbing flank is stable by itself.
    whisper_hz
        Pitch of the margin where that is another: of a swing that the edge stops at a whisper; else None.
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
    depth: tuple[float, float, float]
    depth_limit: float | None
    quiet_depth: float | None
    deepest_quiet: float
    noisy_depth: float | None
    poles_stable: bool
    whisper_hz: float | None = None

    @property
    def whispers(self) -> bool:
        """Return whether the flank stops the vibration before it is worth hearing."""
        return self.ceiling < WHISPER


def word_for(chance: float) -> str:
    """Return the word for a chance of quiet."""
    return QUIET if chance >= QUIET_FROM else NOISY if chance <= NOISY_TO else MAY_SING


def at_speed(
    at: int,
    found: SpeedMargins,
    *,
    drawn: DrawnCut,
    weights: tuple[FloatArray, FloatArray],
    deep: CutDepths,
) -> SpeedVerdict:
    """Return the verdict at one speed.

    Parameters
    ----------
    at
        Number of the speed.
    found
        Likely margins at the speeds.
    drawn
        The cut with drawn inputs.
    weights
        Weights of the draws before and after heard cuts, each of shape (count,).
    deep
        Likely margins over the depth of the cut.

    Source
    ------
    Words by chance: own choice (computed here).
    """
    case, speed, rpm = deep.case, float(found.speeds.cutting[at]), found.speeds.rpm[at]
    margins, likely, hertz = drawn.margins(speed), float(found.margin[at]), _pitch(at, found, deep=deep)
    before, after = (chance(margins, one) for one in weights)
    low, high = (weighted_quantile(margins, weights[1], share=share) for share in NINE_IN_TEN)
    word = word_for(after)
    stable = bool(np.all(rubbed_poles(deep.model, flank_of(case) / speed).real < 0.0))
    word = word if stable else MAY_SING
    above = float(weights[1] @ (margins > 1.0))
    sure = above >= SURE if word == QUIET else 1 - above >= SURE if word == NOISY else False
    quiet, noisy = (
        deep.change_for(at, margins, weights=weights[1], level=one) for one in (QUIET_FROM, NOISY_TO)
    )
    margin = Chance(min(low, likely), likely, max(high, likely))
    depth = deep.limits(at, margin)
    limit, wave = depth[1], speed / hertz
    return SpeedVerdict(
        speed_rpm=rpm,
        cutting_speed=speed,
        margin=margin,
        p_quiet=after,
        p_before=before,
        verdict=word,
        surely=bool(sure),
        waves=float("inf") if rpm is None else float(waves_per_turn(2 * np.pi * hertz, rpm)),
        wavelength=wave,
        chatter_hz=hertz,
        ceiling=ceiling_of(wave, clearance(case).likely),
        depth=depth,
        depth_limit=None if not np.isfinite(limit) else 0.0 if limit <= SHALLOWEST else limit,
        quiet_depth=quiet if word == QUIET and np.isfinite(quiet) else None,
        deepest_quiet=quiet if quiet >= _TOO_LIGHT else 0.0,
        noisy_depth=noisy if after > NOISY_TO and np.isfinite(noisy) else None,
        poles_stable=stable,
        whisper_hz=None if hertz == found.chatter_hz[at] else float(found.chatter_hz[at]),
    )


def _pitch(at: int, found: SpeedMargins, *, deep: CutDepths) -> float:
    """Return the pitch at a speed [Hz]: of the loudest to be feared, not of a whisper above it."""
    hertz, speed = float(found.chatter_hz[at]), float(found.speeds.cutting[at])
    angle = clearance(deep.case).likely
    heard = audible(deep.model, speed=speed, clearance=angle)
    # A first swing may whisper too, and then it is the one to be told.
    nearest = int(np.argmin(np.abs(np.log(2 * np.pi * hertz / deep.model.omega))))
    if heard[nearest] or ceiling_of(speed / hertz, angle) >= WHISPER:
        return hertz
    alone = CutSpeeds((found.speeds.rpm[at],), found.speeds.cutting[at : at + 1], assumed=False)
    again = margins_at(deep.case, picked(deep.model, heard), speeds=alone)
    lowest = float(deep.model.omega[heard].min()) / (2 * np.pi)
    # What is held so well that it hardly answers has no pitch of its own but its ring.
    return lowest if again.margin[0] > _WELL_HELD else float(again.chatter_hz[0])
