"""Cuts that were made and heard: evidence that weighs the drawn inputs anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bell import share_below
from stickout.fem.chatter.low_speed import cutting_speed
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.draws import SCATTER, DrawnCut, chance, drawn_cut
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.models import coarse_model, joined, matched
from stickout.fem.force.case import case_of
from stickout.fem.setup.parts import HeardCut
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# A pitch further than this from every mode, in the logarithm, is not the tool's.
_NEAR: Final = 0.1
_LEAST: Final = 1e-9


@dataclass(frozen=True)
class HeardAnswer:
    """One heard cut: the chance of quiet that it had before, and whether it counts as evidence.

    Where it does not count its pitch was far from every mode: evidence against the model, not for a number.
    """

    cut: HeardCut
    p_quiet: float | None
    counts: bool


def heard_answers(
    likely: LikelyLimit, levels: Mapping[float, ModalModel], *, drawn: DrawnCut, weights: FloatArray
) -> tuple[tuple[HeardAnswer, ...], FloatArray]:
    """Return what each heard cut says, and the weights of the draws after all of them.

    Parameters
    ----------
    likely
        The cut at the likely inputs.
    levels
        Factor of the grip's stiffness -> modal model.
    drawn
        The charted cut of the set-up.
    weights
        Weights before, shape (count,).

    Source
    ------
    Bayes on the drawn samples, likelihood a probit of ln s (computed here).
    """
    diameter, out, after = likely.case.cut.work_diameter_mm, [], weights
    for cut in likely.case.cut.heard:
        if diameter is None or not near_a_mode(likely.both, cut.pitch_hz):
            out.append(HeardAnswer(cut, None, counts=False))
            continue
        speed = cutting_speed(diameter * MM, cut.rpm)
        margins = _charts(likely, levels, drawn=drawn, cut=cut, speed=speed).margins(speed)
        out.append(HeardAnswer(cut, chance(margins, weights), counts=True))
        after = reweighted(after, margins, quiet=cut.heard == "quiet")
    return tuple(out), after


def reweighted(weights: FloatArray, margins: FloatArray, *, quiet: bool) -> FloatArray:
    """Return the weights of draws after a cut of these margins was heard to be quiet, or to sing."""
    score = np.log(margins) / SCATTER
    after = weights * np.maximum(share_below(score if quiet else -score), _LEAST)
    return np.asarray(after / after.sum())


def near_a_mode(model: ModalModel, pitch: float | None) -> bool:
    """Return whether a pitch is near a mode of the model, of half of a batch; one that is not known is."""
    if pitch is None:
        return True
    near = np.abs(np.log(2 * np.pi * pitch / model.omega)) < _NEAR
    return bool(np.mean(near.any(axis=-1)) >= 0.5)


def _charts(
    likely: LikelyLimit, levels: Mapping[float, ModalModel], *, drawn: DrawnCut, cut: HeardCut, speed: float
) -> DrawnCut:
    """Return the charts of the cut that was heard: those at hand where it was the same."""
    base, setup = likely.case.cut, likely.setup
    depth, feed = cut.depth_mm or base.depth_mm, cut.feed_mm or base.feed_mm
    overhang = cut.overhang_mm or setup.bar.overhang_mm
    if (depth, feed, overhang) == (base.depth_mm, base.feed_mm, setup.bar.overhang_mm):
        return drawn
    case = case_of(replace(base, depth_mm=depth, feed_mm=feed))
    models = dict(levels)
    if overhang != setup.bar.overhang_mm:
        other = coarse_model(replace(setup, bar=replace(setup.bar, overhang_mm=overhang)))
        models = {1.0: joined(matched(other, coarse_model(setup), tool=likely.tool), likely.work)}
    ends = (speed / 2, 2 * speed)
    return drawn_cut(case, models, factors=drawn.factors, speeds=ends, usual=drawn.usual)
