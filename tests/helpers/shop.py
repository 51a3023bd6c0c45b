"""Synthetic recordings of a tapped bar, with known answers; nothing of the tool is used to make them."""

from __future__ import annotations

import math
import wave
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

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
