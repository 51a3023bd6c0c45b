"""What a recorder or a room does to a decay: loud against soft taps, early against late slope."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.stats import t as student

from stickout.fem.bench.poles import FloatArray, Refined, refine

_LEAST: Final = 5  # taps, for a comparison of loud with soft
_RANGE: Final = 2.0  # loudest over softest: 6 dB
_SEEN: Final = 0.04  # smaller changes of the decay rate are not told
_SURE: Final = 0.95


def doubts(
    records: FloatArray, fitted: Refined, *, rate_hz: float, loudness: FloatArray
) -> tuple[float, float, tuple[str, ...]]:
    """Return how far the decay rate of the first pole may be too low and too high [1/s], and why.

    Parameters
    ----------
    records
        The taps, shape (m, n).
    fitted
        Their common fit.
    rate_hz
        Samples a second.
    loudness
        Peak of every tap, shape (m,).

    Returns
    -------
    float, float, tuple of str
        To take off, to add, and the reasons.

    Source
    ------
    A changing gain and a room's tail bend the decay; the joint's own loss changes it with the size of the
    motion. What cannot be told apart widens the interval (computed here). [A.agc.*]
    """
    alpha = np.array([-refine(one[None], fitted.poles, rate_hz=rate_hz).poles[0].real for one in records])
    mean = float(-fitted.poles[0].real)
    low = high = 0.0
    why: list[str] = []
    for told, difference in (
        (
            "early and late slope differ: room, or the recorder's gain",
            _early_late(records, fitted, rate_hz),
        ),
        ("the decay depends on loudness: recorder or joint", _loud_soft(alpha, loudness)),
    ):
        if difference is not None and abs(difference) > _SEEN * mean:
            low, high = low + max(-difference, 0.0), high + max(difference, 0.0)
            why.append(told)
    return low, high, tuple(why)


def _early_late(records: FloatArray, fitted: Refined, rate: float) -> float | None:
    """Return the early slope less the whole one where that is sure; the early part holds less of the room."""
    half = records.shape[1] // 2
    if half < 48:
        return None
    early = [-refine(one[None, :half], fitted.poles, rate_hz=rate).poles[0].real for one in records]
    whole = [-refine(one[None], fitted.poles, rate_hz=rate).poles[0].real for one in records]
    return _sure(np.array(early) - np.array(whole))


def _loud_soft(alpha: FloatArray, loudness: FloatArray) -> float | None:
    """Return the decay of soft taps less the mean, where loud and soft ones differ for sure."""
    if len(alpha) < _LEAST or loudness.max() < _RANGE * loudness.min():
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
