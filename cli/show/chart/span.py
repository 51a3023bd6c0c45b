"""One axis of a chart: from where to where it reaches, and which numbers stand on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.meshes.tagged import FloatArray

_MARGIN: Final = 0.05  # of the axis, left free beyond what is drawn
_STEPS: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
_MOST: Final = 9
_APART: Final = 1.15  # between numbers of a log axis, in sizes of their letters
_HAIR: Final = 1e-9


@dataclass(frozen=True)
class Span:
    """From ``low`` to ``high``, evenly or by ratios."""

    low: float
    high: float
    log: bool = False

    @property
    def ends(self) -> tuple[float, float]:
        """Return both ends as they are spaced: their logarithms on a log axis."""
        return (math.log10(self.low), math.log10(self.high)) if self.log else (self.low, self.high)

    @property
    def length(self) -> float:
        """Return how far it is from end to end, as they are spaced."""
        low, high = self.ends
        return high - low

    def share(self, values: FloatArray) -> FloatArray:
        """Return where values lie: 0 at the low end, 1 at the high one."""
        low, _ = self.ends
        spaced = np.log10(np.maximum(values, np.finfo(float).tiny)) if self.log else np.asarray(values)
        return np.asarray((spaced - low) / self.length)


def span_round(values: FloatArray, *, low: float | None, high: float | None, log: bool) -> Span:
    """Return the axis round values, with some room beyond them where no end is given.

    Parameters
    ----------
    values
        What is drawn; not finite ones count for nothing.
    low, high
        Ends that are given.
    log
        Whether it is spaced by ratios.
    """
    if low is not None and high is not None:
        return Span(low, high, log)
    sound = values[np.isfinite(values) & ((values > 0) | (not log))]
    least, most = (float(sound.min()), float(sound.max())) if len(sound) else (1.0 if log else 0.0, 1.0)
    if most - least <= _HAIR * max(abs(most), 1.0) * (0 if log else 1):
        least, most = least - 0.5, most + 0.5
    raw = Span(least, most, log) if most > least else Span(least / 2, 2 * most, log)
    start, stop = raw.ends
    room = _MARGIN * raw.length
    ends = [10**one if log else one for one in (start - room, stop + room)]
    return Span(ends[0] if low is None else low, ends[1] if high is None else high, log)


def even_ticks(span: Span, *, most: int) -> tuple[FloatArray, list[str]]:
    """Return round numbers on an even axis and how they are written, at most about ``most`` steps."""
    raw = span.length / max(1, min(most, _MOST))
    power = 10.0 ** math.floor(math.log10(raw))
    steps = [one * part * power for part in (0.1, 1.0) for one in _STEPS]
    # The widest step that is wide enough; a narrower one where fewer than two numbers would be left.
    for step in reversed(steps[: next(at for at, one in enumerate(steps) if one >= raw * (1 - _HAIR)) + 1]):
        first, last = math.ceil(span.low / step - _HAIR), math.floor(span.high / step + _HAIR)
        if last > first:
            break
    at = np.asarray(step * np.arange(first, last + 1), dtype=np.float64)
    digits = max(0, -math.floor(math.log10(step) + _HAIR))
    digits += 1 if abs(round(step * 10**digits) - step * 10**digits) > _HAIR * 10**digits else 0
    return at, [f"{one + 0.0:.{digits}f}".replace("-", "\N{MINUS SIGN}") for one in at]


def ratio_ticks(span: Span, *, points: float, size: float) -> FloatArray:
    """Return 1, 2 and 5 of each power of ten on a log axis; fewer where they would stand on each other.

    Parameters
    ----------
    span
        The axis.
    points
        Its length on paper.
    size
        Size of the letters there.
    """
    first, last = math.floor(math.log10(span.low)), math.ceil(math.log10(span.high))
    for subs in ((1, 2, 5), (1,)):
        every = np.array([sub * 10.0**power for power in range(first, last + 1) for sub in subs])
        at = every[(every >= span.low * (1 - _HAIR)) & (every <= span.high * (1 + _HAIR))]
        if len(at) < 2 or np.diff(span.share(at)).min() * points >= _APART * size:
            break
    return at
