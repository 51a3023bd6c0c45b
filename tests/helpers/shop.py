"""Synthetic recordings of a tapped bar, with known answers; nothing of the tool is used to make them."""

from __future__ import annotations

import math
import wave
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from scipy.signal import fftconvolve, lfilter

RATE = 48_000
ONE = ((1052.0, 0.012, 1.0),)
TWO = ((1052.0, 0.012, 1.0), (2426.0, 0.01, 0.3))


def decay(
    hz: float, ratio: float, *, seconds: float, rate: float = RATE, phase: float = 0.3, size: float = 1.0
) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return a decaying sine; ``hz`` is the undamped frequency."""
    omega = 2 * math.pi * hz
    t = np.arange(round(seconds * rate)) / rate
    return size * np.exp(-ratio * omega * t) * np.sin(omega * math.sqrt(1 - ratio**2) * t + phase)


def taps(
    modes: Sequence[tuple[float, float, float]] = ONE,
    *,
    seed: int = 0,
    count: int = 10,
    noise: float = 1e-4,
    scatter: float = 0.03,
    sizes: tuple[float, float] = (0.2, 0.9),
) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return taps 0.7 s apart; damping scatters from tap to tap, the note by a thirtieth of it."""
    rng = np.random.default_rng(seed)
    sound = noise * rng.standard_normal(round((1.0 + 0.7 * count) * RATE))
    total = sum(size for _, _, size in modes)
    for k in range(count):
        at = round((0.6 + 0.7 * k + rng.uniform(0, 0.05)) * RATE)
        loud = rng.uniform(*sizes) / total
        for hz, ratio, size in modes:
            ring = decay(
                hz * (1 + scatter / 30 * rng.standard_normal()),
                ratio * (1 + scatter * rng.standard_normal()),
                seconds=0.6,
                phase=rng.uniform(0, 2 * math.pi),
                size=loud * size,
            )
            sound[at : at + len(ring)] += ring[: len(sound) - at]
    return sound


def write_wav(path: Path, sound: Any, *, rate: int = RATE) -> Path:
    """Write 16-bit samples by the standard library; a second axis is channels."""
    samples = np.atleast_2d(np.asarray(sound).T).T
    with wave.open(str(path), "wb") as file:
        file.setnchannels(samples.shape[1])
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def limited(sound: Any, *, release_db_s: float, threshold: float = 0.05, rate: float = RATE) -> Any:
    """Return a sound through a recorder's gain control: down within 6 ms, up again at a steady rate.

    The gain follows the smaller of one and threshold over sample; what the check values call an attack of
    5 ms has a law they do not state, and theirs lie between 5.5 and 7 ms of this one.
    """
    gain, out = 1.0, np.empty_like(sound)
    fall, rise = 1 - math.exp(-1 / (6e-3 * rate)), 10 ** (release_db_s / rate / 20)
    for at, value in enumerate(sound.tolist()):
        wanted = min(1.0, threshold / max(abs(value), 1e-9))
        gain = gain + fall * (wanted - gain) if wanted < gain else min(gain * rise, 1.0)
        out[at] = value * gain
    return out


def in_shop(
    *,
    seed: int,
    t60: float | None = None,
    coupled_hz: float | None = None,
    release: float | None = None,
    pair: float | None = None,
    count: int = 10,
) -> tuple[Any, list[tuple[float, float]]]:
    """Return ten taps as a phone in a shop records them, and the true notes and damping ratios.

    Parameters
    ----------
    seed
        Seed of everything drawn.
    t60
        Time in which the room's tail falls by 60 dB [s]: 14 to 20 dB below the direct sound, other from tap
        to tap, since the phone is moved.
    coupled_hz
        Corner of a first-order high-pass.
    release
        Release of a limiter [dB/s], soft and loud taps.
    pair
        Distance of two modes over their decay rate; None gives two notes far apart.
    count
        Number of taps.
    """
    rng = np.random.default_rng(seed)
    hz, ratio = rng.uniform(700, 1600), rng.uniform(0.008, 0.02)
    second = (hz * (1 + pair * ratio), ratio) if pair is not None else (2.3 * hz, rng.uniform(0.006, 0.015))
    modes = ((hz, ratio, 1.0), (*second, rng.uniform(0.5, 1.0) if pair is not None else 0.3))
    sound = 1e-4 * rng.standard_normal(round((1.0 + 0.8 * count) * RATE))
    for k in range(count):
        at = round((0.6 + 0.8 * k + rng.uniform(0, 0.05)) * RATE)
        loud = rng.uniform(0.03, 0.9) if release else rng.uniform(0.15, 0.9)
        ring = np.zeros(round(0.6 * RATE))
        for one, damped, size in modes:
            ring += decay(
                one * (1 + 5e-4 * rng.standard_normal()),
                damped * (1 + 0.02 * rng.standard_normal()),
                seconds=0.6,
                phase=rng.uniform(0, 2 * math.pi),
                size=loud * size * rng.uniform(0.7, 1.0) / 1.6,
            )
        if t60 is not None:
            ring = roomy(ring, t60=t60, below_db=rng.uniform(14, 20), rng=rng)
        sound[at : at + len(ring)] += ring
    if coupled_hz is not None:
        pole = math.exp(-2 * math.pi * coupled_hz / RATE)
        sound = lfilter([1.0, -1.0], [1.0, -pole], sound)
    if release is not None:
        sound = limited(sound, release_db_s=release)
    return sound, [(one, damped) for one, damped, _ in modes]


def roomy(ring: Any, *, t60: float, below_db: float, rng: np.random.Generator) -> Any:
    """Return a sound with a room's tail: noise that dies away, its energy so far below the direct sound's."""
    t = np.arange(round(t60 * RATE)) / RATE
    tail = rng.standard_normal(len(t)) * np.exp(-3 * math.log(10) * t / t60)
    tail[: round(2e-3 * RATE)] = 0.0
    late = fftconvolve(ring, tail)[: len(ring)]
    late *= math.sqrt(float(ring @ ring) / float(late @ late)) * 10 ** (-below_db / 20)
    return ring + late
