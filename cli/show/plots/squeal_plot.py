"""The picture of a recorded cut: its lines by what makes them, and the spindle's comb around the note."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_width, save, sheet
from stickout.cli.text.squeal_answer import KINDS, VERDICTS
from stickout.cli.text.words import plain
from stickout.fem.bench.cutting import Squeal
from stickout.fem.bench.lines import GEAR, IDLE, MAINS, OFF, SPINDLE, UNSURE, Line

# Told apart by shape, since a printed page has no colour.
_MARKS: Final = {SPINDLE: "|", MAINS: "s", GEAR: "D", IDLE: "x", OFF: "o", UNSURE: "."}
_FLOOR_DB: Final = -70.0
_TURNS: Final = 6  # of the comb, shown to either side of the note


def draw_squeal(heard: Squeal, path: Path) -> None:
    """Write the picture of a recorded cut."""
    with sheet(10.5, 6.4, title=f"{heard.recording.path.name}: {VERDICTS[heard.verdict]}") as figure:
        if heard.note is None:
            _lines(figure.subplots(), heard)
        else:
            top, low = figure.subplots(2, 1)
            _lines(top, heard)
            _around(low, heard, heard.note)
        save(figure, path)


def _lines(axes: Axes, heard: Squeal) -> None:
    """Draw every line as a stem whose head tells what makes it."""
    for kind, mark in _MARKS.items():
        rows = [one for one in heard.lines if one.kind == kind]
        if rows:
            _stems(axes, rows, mark=mark, label=f"{KINDS[kind]} ({len(rows)})")
    if heard.note is not None:
        axes.annotate(
            f"{plain(heard.note.hz, 4)} Hz",
            (heard.note.hz, heard.note.level_db),
            xytext=(5, 2),
            textcoords="offset points",
            fontsize=9,
            color=ACCENT,
        )
    log_width(axes)
    _levels(axes)
    axes.set_title(f"Lines of the cut; the spindle turns {plain(60.0 * heard.comb.turns, 4)} times a minute")
    if heard.lines:
        axes.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=8.5)


def _around(axes: Axes, heard: Squeal, note: Line) -> None:
    """Draw the comb of the spindle around the note: on it the note is forced, off it the cut sings."""
    turns = heard.comb.turns
    middle = round(note.hz / turns)
    doubt = heard.comb.error * note.hz
    for order in range(middle - _TURNS, middle + _TURNS + 1):
        if doubt < 0.25 * turns:
            axes.axvspan(order * turns - doubt, order * turns + doubt, facecolor=PALE)
            axes.axvline(order * turns, color=SOFT, lw=0.8, ls=":")
    reach = (note.hz - _TURNS * turns, note.hz + _TURNS * turns)
    for kind, mark in _MARKS.items():
        rows = [one for one in heard.lines if one.kind == kind and reach[0] < one.hz < reach[1]]
        _stems(axes, rows, mark=mark, label="")
    axes.set_xlim(*reach)
    _levels(axes)
    resolved = "dotted: the spindle's comb, grey: how well it is known"
    blind = "the speed is not known well enough for the spindle's comb to be drawn"
    axes.set_title(f"Around the note; {resolved if doubt < 0.25 * turns else blind}")


def _stems(axes: Axes, rows: list[Line], *, mark: str, label: str) -> None:
    """Draw lines of one kind."""
    hz, level = np.array([one.hz for one in rows]), np.array([one.level_db for one in rows])
    color = ACCENT if mark == _MARKS[OFF] else INK
    axes.vlines(hz, _FLOOR_DB, level, color=color, lw=0.9)
    axes.plot(hz, level, mark, color=color, ms=6, label=label)


def _levels(axes: Axes) -> None:
    """Name the axes."""
    axes.set_ylim(_FLOOR_DB, 8.0)
    axes.set_xlabel("frequency, Hz")
    axes.set_ylabel("dB")
