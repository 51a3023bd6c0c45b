"""Taps in a recording: where they begin, and which cannot be used and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import uniform_filter1d

from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.recording import Recording

_RISE: Final = 4.0  # over the level just before: 12 dB
_OVER_FLOOR: Final = 4.0  # a rise is looked at from 12 dB over the quiet of the recording
_STRONG: Final = 10.0  # 20 dB over the floor: strong enough to read
_APART: Final = 0.3  # seconds between taps
_WAIT_S: Final = 3e-3  # after the peak, for what filters and hammer add
_LATEST_S: Final = 15e-3  # a clipped tap must be free of clipping by then
_AGAIN: Final = 2.5  # a second blow lifts the level so far within 3 ms
_LOUD_AGAIN: Final = 0.15  # and to at least so much of the first
_EXTREME: Final = 0.999


@dataclass(frozen=True)
class Tap:
    """A tap that can be read.

    Attributes
    ----------
    start
        First sample to use.
    room
        Samples until the next event or the end.
    peak
        Largest sample over full scale [-].
    floor
        Root mean square before it, over full scale [-].
    """

    start: int
    room: int
    peak: float
    floor: float


@dataclass(frozen=True)
class Refusal:
    """A tap that was heard and not used."""

    at_s: float
    reason: str


def find_taps(recording: Recording) -> tuple[list[Tap], list[Refusal]]:
    """Return the taps of a recording, and those refused with the reason.

    Parameters
    ----------
    recording
        The scanned recording.

    Returns
    -------
    list of Tap, list of Refusal
        In the order of time.

    Source
    ------
    Thresholds: computed here on synthetic shops.
    """
    level = recording.level
    floor = max(float(np.percentile(level, 30.0)), 1e-7)
    rises = _rises(level, floor)
    taps: list[Tap] = []
    refused: list[Refusal] = []
    for number, at in enumerate(rises):
        until = rises[number + 1] - 8 if number + 1 < len(rises) else len(level)
        reason = _doubled(level, at, min(until, at + round(1000 * _APART)))
        if number + 1 < len(rises) and rises[number + 1] - at < 1000 * _APART:
            reason = "doubled: a second blow within the ringing"
        before = float(np.median(level[max(at - 60, 0) : max(at - 5, 1)]))
        found = reason or _tap(recording, at, until, max(before, 1e-7))
        if isinstance(found, str):
            refused.append(Refusal(at * recording.hop / recording.rate_hz, found))
        else:
            taps.append(found)
    return taps, refused


def _rises(level: FloatArray, floor: float) -> list[int]:
    """Return the entries of the level where something begins suddenly."""
    padded = np.concatenate([np.full(25, floor), level])
    power = uniform_filter1d(padded**2, 20)[10 : 10 + len(level)]  # an hour has millions of steps
    before = np.maximum(np.sqrt(np.maximum(power, 0.0)), floor)
    sudden = np.flatnonzero((level > _RISE * before) & (level > _OVER_FLOOR * floor))
    out: list[int] = []
    for at in sudden.tolist():
        if not out or at - out[-1] > 25:
            out.append(at)
    return out


def _doubled(level: FloatArray, at: int, until: int) -> str:
    """Return why a tap is not one blow, or nothing."""
    part = level[at:until]
    if len(part) < 12:
        return "cut short: the next sound begins at once"
    top = float(part[:10].max())
    for k in range(10, len(part)):
        if part[k] > _LOUD_AGAIN * top and part[k] > _AGAIN * part[k - 6 : k - 2].max():
            return "doubled: a second blow within the ringing"
    return ""


def _tap(recording: Recording, at: int, until: int, floor: float) -> Tap | str:
    """Return a tap ready to be read, or why it cannot be."""
    rate, hop = recording.rate_hz, recording.hop
    first = max((at - 1) * hop, 0)
    sound = recording.samples(first, 12 * hop + round(_LATEST_S * rate))
    if len(sound) < 12 * hop:
        return "cut off by the end of the recording"
    head = np.abs(sound[: 12 * hop])
    peak = float(head.max())
    begin = int(np.argmax(head))
    clipped = _last_clipped(sound, recording.peak)
    if clipped is not None:
        if clipped - begin > _LATEST_S * rate:
            return "clipped: the recorder was driven too hard"
        begin = max(begin, clipped)
    if peak < _STRONG * floor:
        loud = floor > 3.0 * float(np.percentile(recording.level, 30.0))
        return "drowned by another sound" if loud else "weak: less than 20 dB over the noise"
    start = first + begin + round(_WAIT_S * rate)
    return Tap(start, max(min(until * hop, recording.frames) - start, 0), peak, floor)


def _last_clipped(sound: FloatArray, peak: float) -> int | None:
    """Return the last of three or more consecutive samples at the recording's extreme value."""
    if peak < 0.05:
        return None
    flat = np.abs(sound) >= _EXTREME * peak
    three = np.flatnonzero(flat[2:] & flat[1:-1] & flat[:-2])
    return int(three[-1]) + 2 if three.size else None
