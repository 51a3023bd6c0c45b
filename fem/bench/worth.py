"""Which measurement next: by how much each would narrow the margin, reckoned from the samples at hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr

from stickout.fem.bench.evidence import Evidence
from stickout.fem.bench.information import left_over
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.posterior import MODEL_SD
from stickout.fem.bench.predictions import Judged, interval
from stickout.fem.cut.draws import SCATTER, weighted_quantile
from stickout.fem.cut.heard import reweighted
from stickout.fem.cut.speed_margins import cut_speeds
from stickout.fem.force.case import CutCase

TAPS, PULL, HEARD, FORCE = "taps", "pull", "heard", "force"
_TAP_SD: Final = np.array([0.001, 0.03])  # of note and damping from ten taps
_PULL_SD: Final = 0.05
_FORCE_SD: Final = 0.05


@dataclass(frozen=True)
class Worth:
    """What a measurement would bring.

    Attributes
    ----------
    what
        ``taps``, ``pull``, ``heard`` (a cut at ``rpm``), or ``force``: the cutting force of the material
        known to five per cent.
    factor
        High over low of the margin at the worst speed to expect after it.
    without_rubbing
        The same of the margin without rubbing.
    rpm
        Speed of the cut to hear; None else.
    """

    what: str
    factor: float
    without_rubbing: float
    rpm: float | None = None


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
    found = [*_measured(margins, evidence), *_heard(margins, case)]
    return tuple(sorted(found, key=lambda one: one.factor * one.without_rubbing))


def width(margins: FloatArray, weights: FloatArray | None = None) -> float:
    """Return high over low of the 90 % interval of margins."""
    if weights is None:
        band = interval(margins)
        return band.high / band.low
    low, high = (weighted_quantile(margins, weights, share=share) for share in (0.05, 0.95))
    return high / low


def _measured(margins: Judged, evidence: Evidence) -> Iterator[Worth]:
    """Yield what a tap, a pull and a known force would bring."""
    found, unheard = margins.found, margins.pool.unheard
    if not any(one.damping is not None for one in evidence.notes):
        told = np.log([found["note_hz"], found["loss_factor"]])
        yield _worth(TAPS, margins, told=told, sd=np.hypot(_TAP_SD, [MODEL_SD, 0.0]))
    if not evidence.compliances:
        told = np.log([found["spring_m_per_n"]])
        yield _worth(PULL, margins, told=told, sd=np.array([np.hypot(_PULL_SD, 2 * MODEL_SD)]))
    if unheard is not None:
        yield _worth(FORCE, margins, told=np.log([unheard.force]), sd=np.array([_FORCE_SD]))


def _worth(what: str, margins: Judged, *, told: FloatArray, sd: FloatArray) -> Worth:
    """Return what a measurement brings that is known for every sample."""
    after = [
        width(one) ** left_over(np.log(one), told, sd=sd)
        for one in (margins.rubbed[margins.worst], margins.dry)
    ]
    return Worth(what, *after)


def _heard(margins: Judged, case: CutCase) -> Iterator[Worth]:
    """Yield the speed whose hearing would bring most."""
    asked = cut_speeds(case.cut)
    worst, out = margins.rubbed[margins.worst], []
    for rpm, one in zip(asked.rpm, margins.rubbed, strict=True):
        if rpm is None:
            continue
        chance = float(ndtr(np.log(one) / SCATTER).mean())
        even = np.full(len(one), 1.0 / len(one))
        ends = [(chance, reweighted(even, one, quiet=True)), (1 - chance, reweighted(even, one, quiet=False))]
        after = [np.exp(sum(p * np.log(width(m, w)) for p, w in ends)) for m in (worst, margins.dry)]
        out.append(Worth(HEARD, float(after[0]), float(after[1]), rpm))
    if out:
        yield min(out, key=lambda one: one.factor)
