"""Lines in the spectrum of a cut: the spindle's comb, mains, gears, what idles too, what is off the comb."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.ndimage import median_filter
from scipy.signal import find_peaks

from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.recording import Recording

SPINDLE, MAINS, GEAR, IDLE, OFF, UNSURE = "spindle", "mains", "gear", "idle", "off the comb", "unsure"
_SEGMENT_S: Final = 4.0
_LEAST_SEGMENTS, _MOST_SEGMENTS = 4, 40
_OVER_DB: Final = 12.0
_MOST_LINES: Final = 60
_RANGE_HZ: Final = (8.0, 12_000.0)
_PART: Final = 0.25  # of a bin: how well the middle of a line is known when the speed wanders a little
_CHANCE: Final = 0.1  # of the distance of two lines of the comb: nearer by more than chance
_MAINS: Final = (50.0, 60.0)
_LEAST_COMB: Final = 3
_LOW_MULTIPLE: Final = 4  # hum is loudest at once, twice and four times the mains


@dataclass(frozen=True)
class Line:
    """A line: frequency and deviation [Hz], level over the loudest [dB], what it is, order in the comb."""

    hz: float
    sd: float
    level_db: float
    kind: str = UNSURE
    order: float = math.nan


@dataclass(frozen=True)
class Comb:
    """The speed of the spindle [turns/s] as well as it is known, and whether the comb itself told it."""

    turns: float
    error: float
    heard: bool


def find_lines(recording: Recording) -> list[Line]:
    """Return the lines of a recording, loudest first.

    Parameters
    ----------
    recording
        The scanned recording; some forty seconds of it are looked at.

    Source
    ------
    Mean power of windowed pieces, 12 dB above the median beside each line (computed here).
    """
    rate = recording.rate_hz
    size = min(1 << round(math.log2(_SEGMENT_S * rate)), recording.frames)
    starts = np.linspace(
        0, recording.frames - size, min(max(2 * recording.frames // size, 1), _MOST_SEGMENTS)
    )
    window = np.hanning(size)
    power = np.zeros(size // 2 + 1)
    for start in starts.astype(int).tolist():
        power += np.abs(np.fft.rfft(recording.samples(start, size) * window)) ** 2
    step = rate / size
    db: FloatArray = np.asarray(10 * np.log10(power / max(float(power.max()), 1e-300) + 1e-16))
    over = db - median_filter(db, size=max(round(60.0 / step) | 1, 9))
    tops, _ = find_peaks(db, prominence=_OVER_DB)
    low, high = _RANGE_HZ[0] / step, min(_RANGE_HZ[1] / step, 0.9 * len(db))
    tops = tops[(over[tops] > _OVER_DB) & (tops > low) & (tops < high)]
    tops = tops[np.argsort(db[tops])[::-1]][:_MOST_LINES]
    return [Line(float(at + _middle(db, int(at))) * step, _PART * step, float(db[at])) for at in tops]


def _middle(db: FloatArray, at: int) -> float:
    """Return how far the middle of a line lies from its highest bin, in bins."""
    left, top, right = (float(one) for one in db[at - 1 : at + 2])
    bend = left - 2 * top + right
    return 0.5 * (left - right) / bend if bend < 0 else 0.0


def comb_of(lines: Sequence[Line], rpm: float, *, error: float) -> Comb:
    """Return the spindle's speed from its own lines near a speed that is roughly known.

    Parameters
    ----------
    lines
        Lines of a cut.
    rpm
        Speed as set or as on the chart.
    error
        Its relative error: 3 to 5 % for a belt chart under load.

    Returns
    -------
    Comb
        Told by the comb where three or more lines of low order fit one speed, else as given.
    """
    given = Comb(rpm / 60.0, error, heard=False)
    best, told = 0.0, given
    for turns in np.linspace(1 - error, 1 + error, 801) * rpm / 60.0:
        fits = [(round(one.hz / turns), one) for one in lines if one.hz < _highest(turns)]
        fits = [(m, one) for m, one in fits if m >= 1 and abs(one.hz - m * turns) < 2.0 * one.sd]
        orders = {m for m, _ in fits}
        score = len(orders) - 1e-3 * sum(abs(one.hz - m * turns) / one.sd for m, one in fits)
        if len(orders) >= _LEAST_COMB and 1 in orders | {m - 1 for m in orders} and score > best:
            square = float(sum(m * m for m, _ in fits))
            middle = sum(m * one.hz for m, one in fits) / square
            sd = math.sqrt(sum((m * one.sd) ** 2 for m, one in fits)) / square
            best, told = score, Comb(middle, sd / middle, heard=True)
    return told


def _highest(turns: float) -> float:
    """Return the highest line that may tell the speed: the thirtieth of the comb."""
    return 30.5 * turns


def sorted_lines(
    lines: Sequence[Line],
    comb: Comb,
    *,
    idle: Sequence[Line] = (),
    mains: float | None = None,
    teeth: Sequence[int] = (),
) -> list[Line]:
    """Return the lines with what each is.

    Parameters
    ----------
    lines
        Lines of the cut.
    comb
        The spindle's speed.
    idle
        Lines of the same machine at the same speed without a cut.
    mains
        Frequency of the mains [Hz]; None looks for both.
    teeth
        Teeth of gears that turn with the spindle.

    Returns
    -------
    list of Line
        ``UNSURE`` where the speed is not known well enough to say.
    """
    hums = [one for one in (_MAINS if mains is None else (mains,)) if _hums(lines, one)]
    return [_sorted(one, comb, idle=idle, mains=hums, teeth=teeth) for one in lines]


def _hums(lines: Sequence[Line], mains: float) -> bool:
    """Return whether mains are heard at all: high multiples alone lie near any line by chance."""
    return any(_multiple(one.hz, mains, room=_room(one), most=_LOW_MULTIPLE) for one in lines)


def _room(line: Line) -> float:
    """Return how far a line may lie from a multiple of mains that wander by a fifth of a per cent [Hz]."""
    return 2.0 * line.sd + 2e-3 * line.hz


def _sorted(
    line: Line, comb: Comb, *, idle: Sequence[Line], mains: Sequence[float], teeth: Sequence[int]
) -> Line:
    """Return one line with what it is."""
    order = line.hz / comb.turns
    unsure = order * comb.error + line.sd / comb.turns
    told = replace(line, order=order)
    if any(abs(one.hz - line.hz) < 2 * (one.sd + line.sd) and one.level_db > -40 for one in idle):
        return replace(told, kind=IDLE)
    if any(_multiple(line.hz, one, room=_room(line), most=20) for one in mains):
        return replace(told, kind=MAINS)
    near = max(2.0 * unsure, 0.02)
    if abs(order - round(order)) >= near or order < 0.5:
        return replace(told, kind=OFF)
    if near > _CHANCE:
        return told  # that many of a hundred notes would stand so near a line by chance
    if any(_multiple(order, float(z), room=near, most=6) for z in teeth):
        return replace(told, kind=GEAR)
    return replace(told, kind=SPINDLE)


def _multiple(value: float, of: float, *, room: float, most: int) -> bool:
    """Return whether a value is a whole multiple of another, up to the most."""
    times = round(value / of)
    return 1 <= times <= most and abs(value - times * of) < room
