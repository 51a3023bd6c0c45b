"""A cut ready to be judged: likely margins at its speeds, drawn inputs, and what heard cuts make of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.depths import CutDepths
from stickout.fem.cut.draws import (
    FORCE,
    GRIP,
    LOSS,
    THRUST,
    WAVE,
    Draws,
    drawn_cut,
    drawn_factors,
    with_push,
)
from stickout.fem.cut.flank import wave_star
from stickout.fem.cut.heard import HeardAnswer, heard_answers
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.models import trimmed
from stickout.fem.cut.speed_margins import CutSpeeds, SpeedMargins, speed_margins
from stickout.fem.cut.speed_verdict import SpeedVerdict, at_speed
from stickout.fem.cut.usual_edge import edge_bands
from stickout.fem.force.push import THRUST_HIGH, THRUST_LOW
from stickout.fem.setup.bands import Band, FactorBand
from stickout.meshes.tagged import FloatArray

THRUST_BAND: Final = FactorBand(THRUST, THRUST_LOW, THRUST_HIGH)


@dataclass(frozen=True)
class Judge:
    """What a cut is judged by at any of its speeds: a speed that nobody asks for costs nothing.

    Attributes
    ----------
    likely
        The cut at the likely inputs.
    found
        Likely margins at its speeds.
    star
        The wave that the flank holds down, as it was taken [m].
    draws
        The drawn inputs, heard cuts counted.
    before
        Weights of the draws before the heard cuts, shape (count,).
    heard
        What each heard cut said.
    kept
        What was said before: number of a speed -> its verdict.
    """

    likely: LikelyLimit
    found: SpeedMargins
    star: Band
    draws: Draws
    before: FloatArray
    heard: tuple[HeardAnswer, ...]
    kept: dict[int, SpeedVerdict] = field(default_factory=dict, compare=False, repr=False)

    def speeds(self, which: Sequence[int]) -> tuple[SpeedVerdict, ...]:
        """Return the verdict at each of some speeds, given by their numbers from 0."""
        new = [at for at in which if at not in self.kept]
        if new:
            deep = CutDepths(self.likely, self.found, which=new)
            drawn, weights = self.draws.drawn, (self.before, self.draws.weights)
            self.kept.update(
                {at: at_speed(at, self.found, drawn=drawn, weights=weights, deep=deep) for at in new}
            )
        return tuple(self.kept[at] for at in which)


def judge_of(
    likely: LikelyLimit, levels: Mapping[float, ModalModel], *, bands: Mapping[str, FactorBand]
) -> Judge:
    """Return a cut ready to be judged.

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
    Judge
        Likely margins solved, bands and chances from drawn inputs.

    Raises
    ------
    SolveError
        A coarse solve for a heard cut failed.
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
    levels = {grip: trimmed(model, likely.limit) for grip, model in levels.items()}
    drawn = drawn_cut(case, levels, factors=factors, speeds=judged_span(found.speeds), usual=usual)
    before = np.full(len(factors[LOSS]), 1 / len(factors[LOSS]))
    heard, after = heard_answers(likely, levels, drawn=drawn, weights=before)
    return Judge(likely, found, star, Draws(drawn, after), before, heard)


def judged_span(speeds: CutSpeeds) -> tuple[float, float]:
    """Return the cutting speeds between which chances are asked for [m/s]: far beyond the cut's own."""
    return float(speeds.cutting.min()) / 10, 3 * float(speeds.cutting.max())
