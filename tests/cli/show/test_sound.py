"""The note as sound: its pitch by Fourier transform, its decay, its level, its file."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import hilbert

from stickout.cli.show.sound import (
    AUDIBLE_HZ,
    ONSET_S,
    PEAK,
    RATE_HZ,
    TAP_LEVELS,
    audible,
    note_samples,
    ring_down,
    write_note,
)
from stickout.fem.errors import InputError


@pytest.mark.parametrize(
    ("frequency", "ratio"), [(1257.5, 0.0024), (440.0, 0.01), (7342.0, 0.0002), (60.0, 0.03)]
)
def test_pitch(frequency: float, ratio: float) -> None:
    """Principle: the spectrum of a free decay peaks at its damped frequency, within one bin of 1 Hz."""
    tap = ring_down(frequency, ratio)
    assert len(tap) == RATE_HZ
    spectrum = np.abs(np.fft.rfft(tap))
    assert np.argmax(spectrum) == pytest.approx(frequency * np.sqrt(1 - ratio**2), abs=1.0)


@pytest.mark.parametrize(("frequency", "ratio"), [(1257.5, 0.0024), (1257.5, 0.0125), (3000.0, 0.005)])
def test_decay(frequency: float, ratio: float) -> None:
    """Closed form: the envelope falls as exp(-z w t); the slope of its logarithm within 2 %.

    From after the onset to 40 dB below the peak, where 16 bits still have 80 steps (half a step: 0.6 %).
    """
    tap = note_samples(frequency, ratio)[2 * RATE_HZ : 3 * RATE_HZ].astype(float)
    envelope = np.abs(hilbert(tap))
    start = round(2 * ONSET_S * RATE_HZ)
    stop = start + int(np.argmax(envelope[start:] < 0.01 * envelope.max()))
    t = np.arange(start, stop) / RATE_HZ
    slope = np.polyfit(t, np.log(envelope[start:stop]), 1)[0]
    assert -slope / (2 * np.pi * frequency) == pytest.approx(ratio, rel=0.02)


def test_level() -> None:
    """The loudest sample is 12 dB below full scale, the first taps are softer, each starts from silence."""
    samples = note_samples(1000.0, 0.002).astype(float) / 32768
    taps = samples.reshape(len(TAP_LEVELS), RATE_HZ)
    peaks = np.abs(taps).max(axis=1)
    # One step of 16 bits is 3e-5 of full scale.
    assert peaks == pytest.approx(PEAK * np.array(TAP_LEVELS), abs=5e-5)
    assert 20 * np.log10(peaks.max()) == pytest.approx(-12.0, abs=0.1)
    assert peaks[0] < 0.2 * peaks[-1]
    # A rise as one minus cosine: after a tenth of the onset no more than 2.5 % of the level.
    assert np.abs(taps[:, : round(0.1 * ONSET_S * RATE_HZ)]).max() < 0.03 * PEAK


def test_no_click_between_taps() -> None:
    """A tone that never dies is faded before the next tap: no jump larger than the tone itself makes."""
    frequency = 200.0
    samples = note_samples(frequency, 0.0).astype(float) / 32768
    # The steepest slope of a sine is 2 pi f times its size; a quarter more for the turned-up onset.
    assert np.abs(np.diff(samples)).max() < 1.25 * PEAK * 2 * np.pi * frequency / RATE_HZ


def test_file(tmp_path: Path) -> None:
    """One channel, 44.1 kHz, 16 bit, as long as its taps; the samples come back as they were."""
    path = tmp_path / "note.wav"
    write_note(path, 1257.5, damping_ratio=0.0024)
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getframerate(), file.getsampwidth()) == (1, 44100, 2)
        assert file.getnframes() == len(TAP_LEVELS) * RATE_HZ
        back = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
    assert np.array_equal(back, note_samples(1257.5, 0.0024))


@pytest.mark.parametrize("frequency", [19.0, 16_001.0, float("nan"), -440.0])
def test_what_nobody_hears_is_refused(frequency: float) -> None:
    """Above half the sample rate a tone would fold back to a false note; the limit lies well below."""
    assert AUDIBLE_HZ[1] < RATE_HZ / 2
    assert not audible(frequency)
    with pytest.raises(InputError, match="must be from 20 to 16000 Hz"):
        ring_down(frequency, 0.01)


@pytest.mark.parametrize("ratio", [-0.01, 1.0, float("nan")])
def test_what_does_not_ring_is_refused(ratio: float) -> None:
    """A damping ratio of one or above has no tone."""
    with pytest.raises(InputError, match="from 0 to below 1"):
        ring_down(1000.0, ratio)
