"""What a recorder or a room does to a decay: loud against soft taps, early against late slope."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.stats import t as student

from stickout.fem.bench.gain import gain_bias
from stickout.fem.bench.notes import Sounds
from stickout.fem.bench.poles import FloatArray, Refined, refine

_LEAST: Final = 5  # taps, for a comparison of loud with soft
_RANGE: Final = 2.0  # loudest over softest: 6 dB
_SEEN: Final = 0.04  # smaller changes of the decay rate are not told
_SURE: Final = 0.95
_SMOOTH_S, _AFTER_S, _BEFORE_S = 0.02, 0.6, 0.06
_LEAST_FLOORS: Final = 3
_DIP_DB: Final = 1.2  # the noise falls so far below what it comes back to
_FLOOR_SURE: Final = 1.5  # the gain may rise faster while the tap still rings
BENDS: Final = "early and late slope differ: room, or the recorder's gain"
BY_LOUDNESS: Final = "the decay depends on loudness: recorder or joint"
TURNS_UP: Final = "the recorder turns itself up"


@dataclass(frozen=True)
class Doubt:
    """What the scatter between taps does not show of a note.

    Attributes
    ----------
    low, high
        How far the decay rate may be read too high and too low: to take off and to add [1/s].
    reasons
        Why.
    aside
        How far the note may lie to either side [rad/s].
    """

    low: float
    high: float
    reasons: tuple[str, ...]
    aside: float = 0.0


def doubts(
    records: FloatArray, fitted: Refined, *, each: Sequence[Refined], rate_hz: float, sounds: Sounds
) -> Doubt:
    """Return how far the decay rate of the first pole may be too low and too high, and why.

    Parameters
    ----------
    records
        The taps, shape (m, n).
    fitted
        Their common fit.
    each
        Every tap fitted by itself.
    rate_hz
        Samples a second.
    sounds
        The taps: how loud each was, and whether the noise after them rises.

    Source
    ------
    A changing gain and a room's tail bend the decay; the joint's own loss changes it with the size of the
    motion. What cannot be told apart widens the interval: over all taps where loud and soft ones differ,
    since a gain's pull is not in proportion to loudness (computed here). [A.agc.*]
    """
    alpha = np.array([-one.poles[0].real for one in each])
    mean = float(-fitted.poles[0].real)
    low = high = 0.0
    why: list[str] = []
    early = _early_late(records, fitted, rate_hz, whole=alpha)
    if early is not None and abs(early) > _SEEN * mean:
        low, high = max(-early, 0.0), max(early, 0.0)
        why.append(BENDS)
    loud = _loud_soft(alpha, sounds.loudness)
    if loud is not None and abs(loud) > _SEEN * mean:
        low, high = low + float(alpha.mean() - alpha.min()), high + float(alpha.max() - alpha.mean())
        why.append(BY_LOUDNESS)
    if sounds.recovery_db_s > 0.0:
        high += _FLOOR_SURE * gain_bias(sounds.recovery_db_s)
        rise = f"{sounds.recovery_db_s:.0f} dB a second"
        why.append(f"{TURNS_UP} by {rise} after each tap: switch its gain control off")
    return Doubt(low, high, tuple(why))


def gain_recovery(level: FloatArray, starts: Sequence[int], *, hop_s: float) -> float:
    """Return how fast the noise rises after taps [dB/s], 0 where it does not: a gain that comes back.

    Parameters
    ----------
    level
        Level of the recording in equal steps, shape (n,).
    starts
        Steps at which taps begin.
    hop_s
        Length of a step [s].

    Source
    ------
    Floor after taps against floor before them (computed here); a fast gain is not seen by it. [A.agc.bias]
    """
    width, count = round(_SMOOTH_S / hop_s), round(_AFTER_S / hop_s)
    rows = []
    for at in starts:
        before = level[max(at - round(_BEFORE_S / hop_s), 0) : max(at - 5, 1)]
        part = level[at : at + count]
        if len(part) == count and len(before) > 10:
            rows.append(20 * np.log10(np.maximum(part, 1e-9) / max(float(np.median(before)), 1e-9)))
    if len(rows) < _LEAST_FLOORS:
        return 0.0
    # A quarter: soft taps may stay below where the gain falls.
    mean = np.convolve(np.percentile(rows, 25.0, axis=0), np.ones(width) / width, mode="valid")
    low, rest = int(np.argmin(mean)), float(np.median(mean[2 * len(mean) // 3 :]))
    up = np.flatnonzero(mean[low:] > rest + 0.4 * (mean[low] - rest))
    stop = low + int(up[0]) if up.size else len(mean)
    if mean[low] > rest - _DIP_DB or stop - low < width:
        return 0.0
    t = hop_s * np.arange(stop - low)
    return max(float(np.polyfit(t, mean[low:stop], 1)[0]), 0.0)


def _early_late(records: FloatArray, fitted: Refined, rate: float, *, whole: FloatArray) -> float | None:
    """Return the early slope less the whole one where that is sure; the early part holds less of the room."""
    half = records.shape[1] // 2
    if half < 48:
        return None
    early = [-refine(one[None, :half], fitted.poles, rate_hz=rate).poles[0].real for one in records]
    return _sure(np.array(early) - whole)


def loud_and_soft(loudness: FloatArray) -> bool:
    """Return whether there are taps enough, loud and soft, to tell a recorder's gain by them."""
    return len(loudness) >= _LEAST and bool(loudness.max() >= _RANGE * loudness.min())


def _loud_soft(alpha: FloatArray, loudness: FloatArray) -> float | None:
    """Return the decay of soft taps less the mean, where loud and soft ones differ for sure."""
    if not loud_and_soft(loudness):
        return None
    x = np.log(loudness) - np.log(loudness).mean()
    slope = float(x @ alpha / (x @ x))
    left = alpha - alpha.mean() - slope * x
    sd = float(np.sqrt(left @ left / (len(x) - 2) / (x @ x)))
    if abs(slope) < float(student.ppf(_SURE, len(x) - 2)) * sd:
        return None
    return slope * float(x.min())


def _sure(differences: FloatArray) -> float | None:
    """Return the mean of differences that is more than chance."""
    n = len(differences)
    sd = float(differences.std(ddof=1)) / np.sqrt(n)
    mean = float(differences.mean())
    return mean if abs(mean) > float(student.ppf(_SURE, n - 1)) * sd else None
