"""Other ways to a damping ratio, beside which the fit of the taps is held: never the answer themselves."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.signal import butter, hilbert, sosfilt

from stickout.fem.bench.poles import FloatArray

_BAND_HZ: Final = 200.0  # to either side of the note


def envelope_decay(
    record: FloatArray, hz: float, *, rate_hz: float, seconds: tuple[float, float] = (0.0, np.inf)
) -> float:
    """Return the decay rate of a mode by the slope of its envelope's logarithm [1/s].

    Run into the noise it reads too low: by a tenth over six time constants at 30 dB, by a quarter at 20 dB.

    Parameters
    ----------
    record
        The tap, shape (n,).
    hz
        The note [Hz]; 200 Hz to either side are let through.
    rate_hz
        Samples a second.
    seconds
        First and last moment that counts, from the start of the record [s].

    Source
    ------
    Hilbert envelope, straight line by least squares (computed here). [A.env.floor.*]
    """
    band = (max(hz - _BAND_HZ, 0.2 * hz), min(hz + _BAND_HZ, 0.45 * rate_hz))
    bank = butter(3, band, btype="band", fs=rate_hz, output="sos")
    size = np.abs(hilbert(sosfilt(bank, record)))
    t = np.arange(len(record)) / rate_hz
    use = (t >= seconds[0]) & (t <= seconds[1])
    return float(-np.polyfit(t[use], np.log(np.maximum(size[use], 1e-300)), 1)[0])


def half_power_ratio(record: FloatArray, hz: float, *, rate_hz: float) -> float | None:
    """Return the damping ratio by the width of a spectral peak at half power; None where it stands not free.

    Parameters
    ----------
    record
        The tap, at least five widths of the peak long, shape (n,).
    hz
        The note [Hz].
    rate_hz
        Samples a second.

    Source
    ------
    Width over twice the note (recalled, not opened).
    """
    size = 1 << (8 * len(record) - 1).bit_length()
    power = np.abs(np.fft.rfft(record, size)) ** 2
    step = rate_hz / size
    near = slice(max(round(0.95 * hz / step), 1), round(1.05 * hz / step) + 2)
    top = near.start + int(np.argmax(power[near]))
    below = np.flatnonzero(power[:top] < 0.5 * power[top])
    above = np.flatnonzero(power[top:] < 0.5 * power[top])
    if not below.size or not above.size:
        return None
    low, high = int(below[-1]), top + int(above[0])
    left = low + (0.5 * power[top] - power[low]) / (power[low + 1] - power[low])
    right = high - (0.5 * power[top] - power[high]) / (power[high - 1] - power[high])
    width = step * float(right - left)
    return width / (2.0 * hz) if len(record) / rate_hz * width > 1.5 else None
