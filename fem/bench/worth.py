"""Which measurement next: by how much each would narrow the margin, reckoned from the samples at hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bell import share_below
from stickout.fem.bench.evidence import Evidence
from stickout.fem.bench.information import left_over
from stickout.fem.bench.margins import sampled_margins
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.posterior import MODEL_SD
from stickout.fem.bench.predictions import Judged, interval
from stickout.fem.bench.springing import SpringPass, predicted_came_off
from stickout.fem.cut.draws import SCATTER, weighted_quantile
from stickout.fem.cut.heard import reweighted
from stickout.fem.cut.speed_margins import cut_speeds
from stickout.fem.force.case import CutCase
from stickout.fem.setup.bands import NINE_IN_TEN
from stickout.fem.units import MM

TAPS, PULL, HEARD, SPRUNG = "taps", "pull", "heard", "spring_passes"
_TAP_SD: Final = np.array([0.001, 0.03])  # of note and damping from ten taps
_ROUGH: Final = 0.1  # of a damping ratio: read off a screen, not off ten taps
_PULL_SD: Final = 0.05
_READINGS: Final = 4  # of each diameter, or runs of the same passes
_FEEDS: Final = (2.0, 6.0)  # times the feed of the cut: light cuts spring too little to be measured
_FEED_OF_NOSE: Final = 0.75  # a feed beyond it leaves a thread
_SPEEDS: Final = np.geomspace(0.25, 2.0, 5)  # times the speed of the least margin, for a cut to hear


@dataclass(frozen=True)
class Worth:
    """What a measurement would bring.

    Attributes
    ----------
    what
        ``taps``, ``pull``, ``heard`` (a cut at ``rpm``), or ``spring_passes``: two after a
        pass as deep as the nose, at two feeds, every diameter read four times.
    factor
        High over low of the margin at the worst speed to expect after it.
    without_rubbing
        The same of the margin without rubbing.
    rpm
        Speed of the cut to hear; None else.
    feeds
        Feeds of the spring passes [m].
    """

    what: str
    factor: float
    without_rubbing: float
    rpm: float | None = None
    feeds: tuple[float, ...] = ()


def worths(margins: Judged, case: CutCase, *, evidence: Evidence) -> tuple[Worth, ...]:
    """Return what each measurement that was not made would bring, the best first.

    Parameters
    ----------
    margins
        Samples of tool and cut with their margins.
    case
        The cut.
    evidence
        What was measured.

    Returns
    -------
    tuple of Worth

    Source
    ------
    Linear regression on the samples; a heard cut by the mean of its two outcomes (computed here).
    """
    found = [*_measured(margins, case, evidence), *_heard(margins, case)]
    return tuple(sorted(found, key=lambda one: one.factor * one.without_rubbing))


def width(margins: FloatArray, weights: FloatArray | None = None) -> float:
    """Return high over low of the 90 % interval of margins."""
    if weights is None:
        band = interval(margins)
        return band.high / band.low
    low, high = (weighted_quantile(margins, weights, share=share) for share in NINE_IN_TEN)
    return high / low


def _measured(margins: Judged, case: CutCase, evidence: Evidence) -> Iterator[Worth]:
    """Yield what a tap, a pull and spring passes would bring."""
    found, unheard = margins.found, margins.pool.unheard
    if not any(one.damping is not None and one.damping_sd < _ROUGH for one in evidence.notes):
        told = np.log([found["note_hz"], found["loss_factor"]])
        yield _worth(TAPS, margins, told=told, sd=np.hypot(_TAP_SD, [MODEL_SD, 0.0]))
    if not evidence.compliances:
        told = np.log([found["spring_m_per_n"]])
        yield _worth(PULL, margins, told=told, sd=np.array([np.hypot(_PULL_SD, 2 * MODEL_SD)]))
    if unheard is not None and not evidence.sprung:
        passes = _planned(case)
        off = [predicted_came_off(one, case, static=margins.tools.static, unheard=unheard) for one in passes]
        if min(float(one.min()) for one in off) > 0.0:
            sd = [
                one.sd / np.sqrt(_READINGS) / float(np.median(away))
                for one, away in zip(passes, off, strict=True)
            ]
            feeds = tuple((one.feed_mm or 0.0) * MM for one in passes)
            yield replace(_worth(SPRUNG, margins, told=np.log(off), sd=np.array(sd)), feeds=feeds)


def _planned(case: CutCase) -> list[SpringPass]:
    """Return the spring passes that would tell most: heavy, and at two feeds for the power of the law."""
    feed, nose, depth = (
        (one or 0.0) for one in (case.cut.feed_mm, case.cut.nose_radius_mm, case.cut.depth_mm)
    )
    most = max(_FEED_OF_NOSE * nose, feed)
    feeds = [float(min(share * feed, most)) for share in _FEEDS]
    return [SpringPass(0.0, passes=2, feed_mm=one, depth_mm=max(depth, nose)) for one in feeds]


def _worth(what: str, margins: Judged, *, told: FloatArray, sd: FloatArray) -> Worth:
    """Return what a measurement brings that is known for every sample."""
    after = [
        width(one) ** left_over(np.log(one), told, sd=sd)
        for one in (margins.rubbed[margins.worst], margins.dry)
    ]
    return Worth(what, *after)


def _heard(margins: Judged, case: CutCase) -> Iterator[Worth]:
    """Yield the speed whose hearing would bring most: slower and faster than the worst, too."""
    asked, unheard = cut_speeds(case.cut), margins.pool.unheard
    rpm = asked.rpm[margins.worst]
    if rpm is None or unheard is None:
        return
    worst, out = margins.rubbed[margins.worst], []
    for share in _SPEEDS.tolist():
        speed = share * float(asked.cutting[margins.worst])
        one = sampled_margins(margins.tools, case, unheard=unheard, speed=speed)
        chance = float(share_below(np.log(one) / SCATTER).mean())
        even = np.full(len(one), 1.0 / len(one))
        ends = [(chance, reweighted(even, one, quiet=True)), (1 - chance, reweighted(even, one, quiet=False))]
        after = [np.exp(sum(p * np.log(width(m, w)) for p, w in ends)) for m in (worst, margins.dry)]
        out.append(Worth(HEARD, float(after[0]), float(after[1]), round(share * rpm, -1)))
    yield min(out, key=lambda one: one.factor)
