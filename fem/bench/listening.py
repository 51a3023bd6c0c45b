"""Recordings in, notes and damping with their intervals out; what cannot be trusted is refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from stickout.fem.bench.clusters import LEAST_TAPS, HeardMode, heard_near
from stickout.fem.bench.loudness import gain_recovery
from stickout.fem.bench.notes import Sounds, candidates
from stickout.fem.bench.recording import Recording, open_recording
from stickout.fem.bench.taps import Refusal, Tap, find_taps
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.bands import Band

_MOST_TAPS: Final = 80  # of a recording are fitted, evenly over it: an hour of taps fits in memory
_LEAST_RATE: Final = 16_000  # below it the damping of notes above a third of the rate is not given


@dataclass(frozen=True)
class HeardFile:
    """What one recording gave."""

    recording: Recording
    taps: tuple[Tap, ...]
    refused_taps: tuple[Refusal, ...]
    refused: str | None


@dataclass(frozen=True)
class Heard:
    """What recordings gave together."""

    files: tuple[HeardFile, ...]
    modes: tuple[HeardMode, ...]
    refused: str | None


def listen(paths: Sequence[Path]) -> Heard:
    """Return the notes and dampings of a tapped bar from its recordings, all taps fitted together.

    Parameters
    ----------
    paths
        Sound files of one bar in one state.

    Returns
    -------
    Heard
        Notes with intervals, loudest first; taps refused with reasons.

    Raises
    ------
    InputError
        A file cannot be read, or the rates differ.

    Source
    ------
    Between-tap scatter by Student's t, never the noise bound alone (computed here).
    """
    files = [_heard_file(open_recording(path)) for path in paths]
    rates = sorted({one.recording.rate_hz for one in files})
    if len(rates) > 1:
        raise InputError(
            key="recording",
            given=Plain(" and ".join(f"{one} Hz" for one in rates)),
            allowed="recordings of one sample rate",
            mend="Listen to them one by one.",
        )
    count = sum(len(one.taps) for one in files)
    if count < LEAST_TAPS:
        return Heard(tuple(files), (), f"{count} usable taps, at least {LEAST_TAPS} are needed")
    sounds = _sounds(files)
    coded = max((one.recording for one in files), key=lambda one: one.coding_error)
    modes = [_as_coded(one, coded) for one in _modes(sounds)]
    why = None if modes else "the sounds do not agree from tap to tap, or do not ring down as a bar does"
    return Heard(tuple(files), tuple(modes), why)


def _heard_file(recording: Recording) -> HeardFile:
    """Return the taps of one recording."""
    taps, refused = find_taps(recording)
    why = None
    if not taps:
        why = "no tap found" if not refused else "every tap was refused"
    return HeardFile(recording, tuple(taps), tuple(refused), why)


def _as_coded(mode: HeardMode, recording: Recording) -> HeardMode:
    """Return a note with what coding and sample rate of the recording leave of its damping."""
    band, rate = mode.damping_ratio, recording.rate_hz
    why = ""
    if np.isinf(recording.coding_error):
        why = f"{recording.coding}: the note holds, the damping is not given"
    elif rate < _LEAST_RATE and mode.frequency_hz.likely > rate / 3.0:
        why = "too high a note for so few samples a second: the damping is not given"
    if band is None or why:
        return replace(mode, damping_ratio=None, notes=(*mode.notes, *filter(None, [why])))
    wide = recording.coding_error * band.likely
    ends = (
        band.likely - np.hypot(band.likely - band.low, wide),
        band.likely + np.hypot(band.high - band.likely, wide),
    )
    return replace(
        mode, damping_ratio=Band(max(float(ends[0]), 0.0), band.likely, float(ends[1]), band.source)
    )


def _sounds(files: Sequence[HeardFile]) -> Sounds:
    """Return the samples of every usable tap."""
    rate = files[0].recording.rate_hz
    longest = 2 * rate
    taps, before, loud = [], [], []
    for one in files:
        for tap in one.taps[:: max(-(-len(one.taps) // _MOST_TAPS), 1)]:
            taps.append(one.recording.samples(tap.start, min(tap.room, longest)))
            first = max(tap.start - round(0.16 * rate), 0)
            before.append(one.recording.samples(first, max(tap.start - round(0.012 * rate) - first, 0)))
            loud.append(tap.peak)
    rising = [_recovery(one) for one in files if one.taps]
    return Sounds(float(rate), taps, before, np.array(loud), max(rising, default=0.0))


def _recovery(one: HeardFile) -> float:
    """Return how fast a recorder's gain comes back after the taps of a file [dB/s]."""
    recording = one.recording
    starts = [tap.start // recording.hop for tap in one.taps]
    return gain_recovery(recording.level, starts, hop_s=recording.hop / recording.rate_hz)


def _modes(sounds: Sounds) -> list[HeardMode]:
    """Return the notes that every tap agrees on."""
    first = candidates(sounds)
    out: list[tuple[float, HeardMode]] = []
    for number in range(len(first)):
        out += [one for one in heard_near(sounds, first, number=number) if not _known(one[1], out)]
    if not out:
        return []
    top = max(size for size, _ in out)
    told = sorted(out, key=lambda one: -one[0])
    return [HeardMode(m.frequency_hz, m.damping_ratio, m.pair, size / top, m.notes) for size, m in told]


def _known(mode: HeardMode, found: Sequence[tuple[float, HeardMode]]) -> bool:
    """Return whether a note was found before, from another top of the same hump."""
    hz = mode.frequency_hz
    return any(
        abs(one.frequency_hz.likely - hz.likely)
        < 2.0 * max(hz.high - hz.low, one.frequency_hz.high - one.frequency_hz.low)
        for _, one in found
    )
