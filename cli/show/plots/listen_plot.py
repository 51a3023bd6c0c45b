"""The picture of ``listen``: the taps in the recording, their spectrum with the notes, and one decay."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_width, save, sheet
from stickout.fem.bench.listening import Heard, HeardFile

_LOOKED_S = 0.15


def draw_heard(heard: Heard, path: Path) -> None:
    """Write the picture of what was heard."""
    names = ", ".join(one.recording.path.name for one in heard.files)
    with sheet(10.5, 7.6, title=f"Heard: {names}") as figure:
        top, middle, low = figure.subplots(3, 1)
        file = max(heard.files, key=lambda one: len(one.taps))
        _taps(top, file)
        _spectrum(middle, heard, file)
        _decay(low, heard, file)
        save(figure, path)


def _taps(axes: Axes, one: HeardFile) -> None:
    """Draw the level of the recording with the taps marked."""
    sound = one.recording
    step = max(len(sound.level) // 4000, 1)
    level = sound.level[: len(sound.level) // step * step].reshape(-1, step).max(axis=1)
    t = np.arange(len(level)) * step * sound.hop / sound.rate_hz
    axes.plot(t, level, color=SOFT, lw=0.8)
    top = float(level.max())
    used = [tap.start / sound.rate_hz for tap in one.taps]
    axes.plot(used, [1.08 * top] * len(used), "v", color=INK, ms=6, label=f"used ({len(used)})")
    off = [tap.at_s for tap in one.refused_taps]
    axes.plot(off, [1.08 * top] * len(off), "x", color=ACCENT, ms=6, label=f"refused ({len(off)})")
    axes.set_xlabel("time, s")
    axes.set_ylabel("level")
    axes.set_title("Taps")
    axes.legend(loc="upper right", fontsize=8.5)


def _spectrum(axes: Axes, heard: Heard, one: HeardFile) -> None:
    """Draw the mean spectrum of the taps, the notes marked."""
    sound = one.recording
    count = round(_LOOKED_S * sound.rate_hz)
    parts = [sound.samples(tap.start, min(tap.room, count)) for tap in one.taps]
    if not parts:
        axes.set_axis_off()
        return
    spectra = [np.abs(np.fft.rfft(p, 2 * count)) / tap.peak for p, tap in zip(parts, one.taps, strict=True)]
    spectrum = np.median(spectra, axis=0)
    hz = np.fft.rfftfreq(2 * count, 1 / sound.rate_hz)
    show = (hz > 50) & (hz < 0.5 * sound.rate_hz)
    db = 20 * np.log10(np.maximum(spectrum[show] / spectrum[show].max(), 1e-5))
    axes.plot(hz[show], db, color=SOFT, lw=0.8)
    for mode in heard.modes:
        axes.axvline(mode.frequency_hz.likely, color=ACCENT, lw=1.0, ls="--")
        axes.text(mode.frequency_hz.likely, 2, f" {mode.frequency_hz.likely:.0f} Hz", fontsize=8.5)
    log_width(axes)
    axes.set_ylim(-70, 10)
    axes.set_xlabel("frequency, Hz")
    axes.set_ylabel("dB")
    axes.set_title("Spectrum of the taps, dashed: the notes")


def _decay(axes: Axes, heard: Heard, one: HeardFile) -> None:
    """Draw how the loudest note dies away in the first tap, with the decay that was read."""
    mode = heard.modes[0] if heard.modes else None
    if mode is None or mode.damping_ratio is None or not one.taps:
        axes.set_axis_off()
        return
    omega = 2 * np.pi * mode.frequency_hz.likely
    alpha = mode.damping_ratio.likely * omega
    sound, tap = one.recording, one.taps[0]
    x = sound.samples(tap.start, min(tap.room, round(6 / alpha * sound.rate_hz)))
    t = np.arange(len(x)) / sound.rate_hz
    width = max(round(sound.rate_hz / mode.frequency_hz.likely * 4), 8)
    kernel = np.hanning(width) / np.hanning(width).sum()
    envelope = 2 * np.abs(np.convolve(x * np.exp(-1j * omega * t), kernel, mode="same"))
    axes.axvspan(0, 3000 / alpha, facecolor=PALE)
    db = 20 * np.log10(np.maximum(envelope, 1e-6))
    axes.plot(1000 * t, db, color=SOFT, lw=1.0, label="first tap")
    at = min(width, len(envelope) - 1)
    fit = db[at] - 20 * np.log10(np.e) * alpha * (t - t[at])
    axes.plot(1000 * t, fit, color=ACCENT, lw=1.2, ls="--", label="as read from all taps")
    axes.set_xlabel("time, ms")
    axes.set_ylabel("dB")
    axes.set_title(f"How {mode.frequency_hz.likely:.0f} Hz dies away; shaded: what was read")
    axes.legend(loc="upper right", fontsize=8.5)
