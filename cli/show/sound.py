"""The note of a mode as sound: a bar tapped once a second, dying away as it was computed to."""

from __future__ import annotations

import math
import wave
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.errors import InputError
from stickout.meshes.tagged import FloatArray

RATE_HZ: Final = 44_100
PEAK: Final = 0.25  # of full scale: 12 dB below it, so that no loudspeaker and no ear is startled
TAP_LEVELS: Final = (0.15, 0.4, 1.0, 1.0, 1.0)  # the first taps are softer still: time to turn it down
AUDIBLE_HZ: Final = (
    20.0,
    16_000.0,
)  # what most ears and loudspeakers still carry; common practice, no source
TAP_S: Final = 1.0
ONSET_S: Final = 0.002
_FADE_S: Final = 0.02
_FULL: Final = 32_767


def audible(frequency_hz: float) -> bool:
    """Return whether most people can hear a note."""
    return AUDIBLE_HZ[0] <= frequency_hz <= AUDIBLE_HZ[1]


def ring_down(frequency_hz: float, damping_ratio: float) -> FloatArray:
    """Return one tap: a tone that dies away over one second, 1 at most.

    ``exp(-z w t) sin(w sqrt(1 - z^2) t)``, ``w = 2 pi f``, after a rise of 2 ms; what is left of it at the
    end is faded out, as if a hand stopped it before the next tap.

    Parameters
    ----------
    frequency_hz
        The mode's natural frequency, 20 to 16 000 Hz.
    damping_ratio
        Its damping ratio, 0 to below 1.

    Returns
    -------
    ndarray
        Samples at 44 100 a second, shape (44100,).

    Raises
    ------
    InputError
        A note that nobody hears, or a damping ratio with which nothing rings.

    Source
    ------
    Free decay of one mode, any textbook of vibration (recalled, not opened).
    """
    if not audible(frequency_hz):
        allowed = f"from {AUDIBLE_HZ[0]:.0f} to {AUDIBLE_HZ[1]:.0f} Hz"
        raise InputError(
            key="frequency_hz", given=frequency_hz, allowed=allowed, mend="Choose a mode that can be heard."
        )
    if not 0 <= damping_ratio < 1:
        raise InputError(
            key="damping_ratio",
            given=damping_ratio,
            allowed="from 0 to below 1",
            mend="Check the loss factors.",
        )
    omega = 2 * math.pi * frequency_hz
    t = np.arange(round(TAP_S * RATE_HZ)) / RATE_HZ
    tone = np.exp(-damping_ratio * omega * t) * np.sin(omega * math.sqrt(1 - damping_ratio**2) * t)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(t / ONSET_S, 0, 1))
    fade = 0.5 - 0.5 * np.cos(np.pi * np.clip((TAP_S - t) / _FADE_S, 0, 1))
    shaped = tone * rise * fade
    tap: FloatArray = shaped / np.abs(shaped).max()
    return tap


def note_samples(frequency_hz: float, damping_ratio: float) -> NDArray[np.int16]:
    """Return the taps one after another, 16 bit, never above a quarter of full scale.

    Raises
    ------
    InputError
        As ``ring_down``.
    """
    tap = ring_down(frequency_hz, damping_ratio)
    whole = np.concatenate([level * tap for level in TAP_LEVELS])
    return np.round(PEAK * _FULL * whole).astype(np.int16)


def write_note(path: Path, frequency_hz: float, *, damping_ratio: float) -> None:
    """Write the note as a WAV file: one channel, 44.1 kHz, 16 bit.

    Parameters
    ----------
    path
        The file.
    frequency_hz, damping_ratio
        As ``ring_down`` takes them.

    Raises
    ------
    InputError
        As ``ring_down``.
    OSError
        The file cannot be written.
    """
    samples = note_samples(frequency_hz, damping_ratio).astype("<i2")
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(samples.tobytes())
