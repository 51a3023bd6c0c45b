"""The notes in a set of taps: candidates from the spectra, first poles from a narrow band of all taps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.signal import find_peaks, firwin

from stickout.fem.bench.poles import ComplexArray, FloatArray, matrix_pencil

LOWEST_HZ: Final = 80.0
_MOST_NOTES: Final = 6
_PROMINENT: Final = 10.0 ** (12.0 / 20.0)
_LOUD_ENOUGH: Final = 10.0 ** (-35.0 / 20.0)
_LOOKED_S: Final = 0.15
_DAMPING: Final = (0.0002, 0.15)


@dataclass(frozen=True)
class Sounds:
    """The usable taps of one or more recordings, at one sample rate.

    Attributes
    ----------
    rate_hz
        Samples a second.
    taps
        Samples from the start of each tap until the next event, each shape (n,).
    before
        Samples of the quiet before each tap, each shape (n,).
    loudness
        Peak of each tap over full scale, shape (m,).
    recovery_db_s
        How fast the noise rises again after taps [dB/s]: a recorder's gain; 0 where it does not.
    """

    rate_hz: float
    taps: list[FloatArray]
    before: list[FloatArray]
    loudness: FloatArray
    recovery_db_s: float = 0.0


def candidates(sounds: Sounds) -> ComplexArray:
    """Return first poles of the notes, loudest first; lines that sound before the taps are left out.

    Parameters
    ----------
    sounds
        The taps.

    Returns
    -------
    ndarray
        Poles [1/s], shape (n,).

    Source
    ------
    Half-power width of the mean spectrum as the first guess of the decay (recalled, not opened).
    """
    rate = sounds.rate_hz
    count = min(round(_LOOKED_S * rate), *(len(one) for one in sounds.taps))
    size = 1 << (4 * count - 1).bit_length()
    spectra = [np.abs(np.fft.rfft(one[:count] - one[:count].mean(), size)) / p for one, p in _rows(sounds)]
    mean = np.median(spectra, axis=0)
    hz: FloatArray = np.asarray(np.fft.rfftfreq(size, 1 / rate), dtype=np.float64)
    usable = (hz > LOWEST_HZ) & (hz < 0.45 * rate)
    quiet = _quiet(sounds, count, size)
    mean = np.where(usable & (mean > 3.0 * quiet), mean, 0.0)
    apart = max(round(25.0 / (hz[1] - hz[0])), 1)
    height = max(_LOUD_ENOUGH * mean.max(), 1e-300)
    logs = np.log(np.maximum(mean, 1e-3 * height))
    tops, _ = find_peaks(logs, height=np.log(height), prominence=np.log(_PROMINENT), distance=apart)
    tops = tops[np.argsort(mean[tops])[::-1]][:_MOST_NOTES]
    return np.array([_pole(mean, int(top), hz) for top in tops], dtype=np.complex128)


def _rows(sounds: Sounds) -> list[tuple[FloatArray, float]]:
    """Return every tap with the peak it is divided by."""
    return list(zip(sounds.taps, sounds.loudness.tolist(), strict=True))


def _quiet(sounds: Sounds, count: int, size: int) -> FloatArray:
    """Return the spectrum of what sounds before the taps, divided as they are."""
    rows = []
    for one, peak in zip(sounds.before, sounds.loudness, strict=True):
        part = one[-count:]
        if len(part) > 16:
            rows.append(np.abs(np.fft.rfft(part - part.mean(), size)) / peak)
    return np.median(rows, axis=0) if rows else np.zeros(size // 2 + 1)


def _pole(mean: FloatArray, top: int, hz: FloatArray) -> complex:
    """Return a pole from the width of a peak."""
    level = mean[top] / np.sqrt(2.0)
    below = np.flatnonzero(mean[:top] < level)
    above = np.flatnonzero(mean[top:] < level)
    left = hz[below[-1]] if below.size else hz[0]
    right = hz[top + above[0]] if above.size else hz[-1]
    omega = 2 * np.pi * hz[top]
    alpha = np.clip(np.pi * (right - left), _DAMPING[0] * omega, _DAMPING[1] * omega)
    return complex(-alpha, omega)


def banded(
    records: FloatArray, pole: complex, *, rate_hz: float, width_hz: float
) -> tuple[ComplexArray, float]:
    """Return the complex envelopes of a narrow band, free of any transient of the filter, and their rate.

    Parameters
    ----------
    records
        Records of equal length, shape (m, n).
    pole
        Pole in the middle of the band [1/s].
    rate_hz
        Samples a second.
    width_hz
        Half the width of the band [Hz].

    Returns
    -------
    ndarray, float
        Envelopes, shape (m, k), and samples a second.

    Source
    ------
    A finite filter keeps every pole where it lies wholly inside the record (computed here).
    """
    taps = max(int(1.5 * rate_hz / width_hz) | 1, 5)
    taps = min(taps, (records.shape[1] // 4) | 1)
    t = np.arange(records.shape[1]) / rate_hz
    mixed = records * np.exp(-1j * pole.imag * t)
    kernel = firwin(taps, width_hz, fs=rate_hz)
    step = max(int(rate_hz / (6.0 * width_hz)), 1)
    windows = np.lib.stride_tricks.sliding_window_view(mixed, taps, axis=1)[:, ::step]
    return windows @ kernel, rate_hz / step


def pencil_poles(records: FloatArray, pole: complex, *, rate_hz: float, order: int) -> ComplexArray:
    """Return ``order`` poles near one by the matrix pencil on the envelopes of its band.

    Parameters
    ----------
    records
        Records of equal length, shape (m, n).
    pole
        First guess [1/s].
    rate_hz
        Samples a second.
    order
        Number of poles.

    Returns
    -------
    ndarray
        Poles [1/s] that can be those of a held bar, none where the record is too short.
    """
    width = float(np.clip(4.0 * -pole.real / np.pi, 60.0, 0.4 * pole.imag / (2 * np.pi)))
    envelopes, rate = banded(records, pole, rate_hz=rate_hz, width_hz=width)
    if envelopes.shape[1] < 3 * (order + 2):
        return np.array([], dtype=complex)
    found = matrix_pencil(envelopes, order, rate_hz=rate) + 1j * pole.imag
    good = (np.abs(found.imag - pole.imag) < 2 * np.pi * width) & (found.imag > 0)
    ratio = -found.real / np.maximum(np.abs(found), 1.0)
    keep: ComplexArray = found[good & (ratio > _DAMPING[0]) & (ratio < _DAMPING[1])]
    return keep
