"""What a recording looks like: its level with the taps, their spectrum, and how one note dies away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.bench.clusters import WINDOW, HeardMode
from stickout.fem.bench.listening import HeardFile
from stickout.fem.bench.poles import FloatArray

_LOOKED_S: Final = 0.15
_LOWEST_HZ: Final = 50.0
_FLOOR: Final = 1e-5  # of the loudest line: no picture goes lower
_SHOWN: Final = 6.0  # time constants of a decay
_ENVELOPE_WAVES: Final = 4.0  # of the note in the window that smooths its envelope


@dataclass(frozen=True)
class Curve:
    """Points of a curve, shape (n,) each: seconds and level, or Hz and dB."""

    x: FloatArray
    y: FloatArray


@dataclass(frozen=True)
class Decay:
    """How a note dies away in one tap.

    Attributes
    ----------
    seconds
        From the start of the tap, shape (n,).
    level_db, read_db
        Its envelope, and the straight line that was read from all taps [dB], shape (n,) each.
    window
        How far it was read [s].
    """

    seconds: FloatArray
    level_db: FloatArray
    read_db: FloatArray
    window: float


def level_curve(one: HeardFile, *, most: int = 4000) -> Curve:
    """Return the level of a recording over time, the greatest of each stretch, in at most ``most`` points."""
    sound = one.recording
    step = max(-(-len(sound.level) // most), 1)
    padded = np.pad(sound.level, (0, -len(sound.level) % step))
    level = padded.reshape(-1, step).max(axis=1)
    return Curve(np.arange(len(level)) * step * sound.hop / sound.rate_hz, level)


def tap_spectrum(one: HeardFile) -> Curve | None:
    """Return the median spectrum of the taps of a recording, the loudest line at 0 dB; None without taps."""
    sound = one.recording
    count = round(_LOOKED_S * sound.rate_hz)
    parts = [sound.samples(tap.start, min(tap.room, count)) for tap in one.taps]
    if not parts:
        return None
    spectra = [np.abs(np.fft.rfft(p, 2 * count)) / tap.peak for p, tap in zip(parts, one.taps, strict=True)]
    spectrum = np.median(spectra, axis=0)
    hz = np.asarray(np.fft.rfftfreq(2 * count, 1 / sound.rate_hz), dtype=np.float64)
    show = (hz > _LOWEST_HZ) & (hz < 0.5 * sound.rate_hz)
    over = np.asarray(spectrum[show] / spectrum[show].max(), dtype=np.float64)
    return Curve(hz[show], 20 * np.log10(np.maximum(over, _FLOOR)))


def decay_curve(mode: HeardMode, one: HeardFile) -> Decay | None:
    """Return how a note dies away in the first tap of a recording; None where its damping was not read."""
    if mode.damping_ratio is None or not one.taps:
        return None
    omega = 2 * np.pi * mode.frequency_hz.likely
    alpha = mode.damping_ratio.likely * omega
    sound, tap = one.recording, one.taps[0]
    x = sound.samples(tap.start, min(tap.room, round(_SHOWN / alpha * sound.rate_hz)))
    t = np.arange(len(x)) / sound.rate_hz
    width = max(round(sound.rate_hz / mode.frequency_hz.likely * _ENVELOPE_WAVES), 8)
    if len(x) < 2 * width:
        return None
    kernel = np.hanning(width) / np.hanning(width).sum()
    envelope = 2 * np.abs(np.convolve(x * np.exp(-1j * omega * t), kernel, mode="valid"))
    middle = t[: len(envelope)] + (width - 1) / 2 / sound.rate_hz
    db = 20 * np.log10(np.maximum(envelope, 1e-6))
    inside = middle < WINDOW / alpha
    slope = 20 * np.log10(np.e) * alpha
    # Through the middle of what was read: one sample may be a dip.
    height = float((db + slope * middle)[inside].mean()) if inside.any() else float(db[0])
    return Decay(middle, db, height - slope * middle, WINDOW / alpha)
