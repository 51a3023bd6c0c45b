"""The picture of ``listen``: taps, spectrum with notes and the model's modes, a decay, the spindle's comb."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_width, save, sheet
from stickout.cli.text.listen_answer import headline
from stickout.cli.text.words import listed, plain
from stickout.fem.bench.curves import Curve, decay_curve, level_curve, tap_spectrum
from stickout.fem.bench.listening import Heard, HeardFile
from stickout.fem.bench.squeal import Candidate

_TURNS: Final = 8  # of the comb, shown to either side of the note
_WIDEST: Final = 0.2  # of the note
_LOWEST_DB: Final = -70.0
_SMALL: Final = 8.5


@dataclass(frozen=True)
class Beside:
    """What is drawn beside the taps: modes that the model expected, and a spindle's speed [rpm]."""

    modes: Sequence[Candidate] = ()
    rpm: float | None = None


NOTHING: Final = Beside()


def draw_heard(heard: Heard, path: Path, *, beside: Beside = NOTHING) -> None:
    """Write the picture of what was heard, with what is drawn beside it."""
    file = max(heard.files, key=lambda one: len(one.taps))
    spectrum = tap_spectrum(file)
    comb = beside.rpm is not None and bool(heard.modes) and spectrum is not None
    rows = [["taps", "taps"], ["spectrum", "decay"], *([["comb", "comb"]] if comb else [])]
    with sheet(10.5, 2.7 * len(rows) + 0.6, title=_title(heard)) as figure:
        places: Mapping[str, Axes] = figure.subplot_mosaic([list(row) for row in rows])
        _taps(places["taps"], file)
        _spectrum(places["spectrum"], heard, spectrum, modes=beside.modes)
        _decay(places["decay"], heard, file)
        if comb and spectrum is not None:
            _comb(places["comb"], heard, spectrum, beside=beside)
        save(figure, path)


def _title(heard: Heard) -> str:
    """Return the answer, as the command's first line; where there is none, why."""
    if heard.modes:
        return headline(heard.modes[0])
    return f"No answer from this recording: {heard.refused}"


def _taps(axes: Axes, one: HeardFile) -> None:
    """Draw the level of the recording with the taps marked, those refused with their number and reason."""
    level = level_curve(one)
    axes.plot(level.x, level.y, color=SOFT, lw=0.8)
    top = float(level.y.max())
    used = [tap.start / one.recording.rate_hz for tap in one.taps]
    axes.plot(used, [1.1 * top] * len(used), "v", color=INK, ms=6, label="used")
    off = [tap.at_s for tap in one.refused_taps]
    if off:
        axes.plot(off, [1.25 * top] * len(off), "x", color=ACCENT, ms=7, mew=2, label="refused")
    axes.set_ylim(0.0, 1.4 * top)
    axes.set_yticks([])
    axes.set_xlabel("seconds")
    axes.set_ylabel("loudness")
    axes.set_title(f"{one.recording.path.name}: {len(used)} taps used, {_refused(one)}")
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=_SMALL)


def _refused(one: HeardFile) -> str:
    """Return how many taps were refused and why, by the first word of the reason."""
    if not one.refused_taps:
        return "none refused"
    reasons = Counter(tap.reason.partition(":")[0] for tap in one.refused_taps)
    told = listed([f"{count} {reason}" for reason, count in reasons.most_common()])
    return f"{len(one.refused_taps)} refused: {told}"


def _spectrum(axes: Axes, heard: Heard, spectrum: Curve | None, *, modes: Sequence[Candidate]) -> None:
    """Draw the median spectrum of the taps, the notes that were heard and those that were expected."""
    if spectrum is None:
        axes.set_axis_off()
        return
    axes.plot(spectrum.x, spectrum.y, color=SOFT, lw=0.8)
    for at, one in enumerate(modes):
        axes.axvline(one.hz, color=INK, lw=1.0, ls=":", label="" if at else "expected by the model")
    for at, mode in enumerate(heard.modes):
        hz = mode.frequency_hz.likely
        axes.axvline(hz, color=ACCENT, lw=1.2, ls="--", label="" if at else "notes heard")
        axes.text(hz, 2, f" {hz:.0f} Hz", fontsize=_SMALL, color=ACCENT)
    log_width(axes)
    axes.set_xlim(100.0, min(float(spectrum.x[-1]), 12_000.0))
    axes.set_ylim(_LOWEST_DB, 12)
    axes.set_xlabel("Hz")
    axes.set_ylabel("dB")
    axes.set_title("Which notes the taps hold")
    if heard.modes or modes:
        axes.legend(loc="lower left", fontsize=_SMALL, frameon=True, facecolor="white", edgecolor="none")


def _decay(axes: Axes, heard: Heard, one: HeardFile) -> None:
    """Draw how the loudest note dies away in the first tap, with the decay that was read."""
    mode = heard.modes[0] if heard.modes else None
    decay = None if mode is None else decay_curve(mode, one)
    if mode is None or decay is None:
        axes.set_axis_off()
        return
    ms = 1e3 * decay.seconds
    top = float(decay.level_db.max())
    axes.axvspan(0.0, 1e3 * decay.window, facecolor=PALE, label="what was read")
    axes.plot(ms, decay.level_db - top, color=SOFT, lw=1.0, label="first tap")
    axes.plot(ms, decay.read_db - top, color=ACCENT, lw=1.2, ls="--", label="as read from all taps")
    fall = float((decay.read_db[0] - decay.read_db[-1]) / (ms[-1] - ms[0]))
    axes.set_xlim(0.0, float(ms[-1]))
    axes.set_ylim(max(float(decay.level_db.min()) - top, _LOWEST_DB) - 2, 4)
    axes.set_xlabel("milliseconds")
    axes.set_ylabel("dB")
    axes.set_title(f"{mode.frequency_hz.likely:.0f} Hz falls to a thousandth in {60 / fall:.0f} ms")
    axes.legend(loc="upper right", fontsize=_SMALL)


def _comb(axes: Axes, heard: Heard, spectrum: Curve, *, beside: Beside) -> None:
    """Draw where the spindle's lines lie around the loudest note."""
    note, turns = heard.modes[0].frequency_hz.likely, (beside.rpm or 0.0) / 60.0
    reach = min(_TURNS * turns, _WIDEST * note)
    low, high = note - reach, note + reach
    orders = np.arange(np.ceil(low / turns), np.floor(high / turns) + 1)
    for at, order in enumerate(orders):
        axes.axvline(order * turns, color=SOFT, lw=0.8, ls=":", label="" if at else "the spindle's lines")
    # Beyond the ends too, so that the curve does not stop inside them.
    near = (spectrum.x > low - turns - 10.0) & (spectrum.x < high + turns + 10.0)
    axes.plot(spectrum.x[near], spectrum.y[near], color=INK, lw=1.0)
    axes.axvline(note, color=ACCENT, lw=1.2, ls="--", label="the note")
    nearest = round(note / turns)
    axes.set_xlim(low, high)
    axes.set_xlabel("Hz")
    axes.set_ylabel("dB")
    axes.set_title(
        f"The spindle's comb at {plain(60 * turns, 4)} rpm, a line every {plain(turns, 3)} Hz; the nearest, "
        f"number {nearest}, is {plain(abs(note - nearest * turns), 2)} Hz off (one always is near)"
    )
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=_SMALL)
