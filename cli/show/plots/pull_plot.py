"""The picture of ``pull``: movement over load, up and down, the line that was read, who gives how much."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, save, sheet
from stickout.cli.text.fit_answer import spring_row
from stickout.cli.text.pull_answer import BASES, PARTS, stiffness_words
from stickout.cli.text.words import plain
from stickout.fem.bench.pull import Pulled
from stickout.fem.bench.seat import Pulls
from stickout.fem.setup.bands import Band

_MOST: Final = 4  # pulls in one picture


def draw_pulls(told: Pulls, path: Path, *, units: str = "mm") -> None:
    """Write the picture of pulls in the units of their log."""
    shown = told.pulls[:_MOST]
    split = bool(told.split) and len(told.split) > 1
    count = len(shown) + split
    with sheet(5.2 * count + 0.4, 4.6, title="Pulled: how far it gives") as figure:
        places = figure.subplots(1, count, squeeze=False)[0]
        for number, (axes, one) in enumerate(zip(places, shown, strict=False), 1):
            _pull(axes, one, opens=told.opens[number - 1], units=units)
            head = f"Pull {number}: " if len(told.pulls) > 1 else ""
            axes.set_title(f"{head}{BASES[one.pull.base]}\n{_said(one, units)}")
        if split:
            _split(places[-1], told, units=units)
        save(figure, path)


def _said(one: Pulled, units: str) -> str:
    """Return what a pull gave, short."""
    return f"not used: {one.refused}" if one.compliance is None else stiffness_words(one.compliance, units)


def _pull(axes: Axes, one: Pulled, *, opens: Band | None, units: str) -> None:
    """Draw the readings of one pull with its line and band."""
    loads, moved = one.pull.loads, 1e6 * one.pull.readings
    down = np.arange(len(loads)) > int(np.argmax(loads))
    top = 1.08 * float(loads.max())
    if one.compliance is not None:
        band, middle = one.compliance, float(loads.mean())
        height = float(moved.mean())
        x = np.array([0.0, top])
        ends = [height + 1e6 * c * (x - middle) for c in (band.low, band.high)]
        axes.fill_between(x, np.minimum(*ends), np.maximum(*ends), facecolor=PALE)
        axes.plot(
            x, height + 1e6 * band.likely * (x - middle), color=ACCENT, lw=1.4, ls="--", label="as read"
        )
    axes.plot(loads[~down], moved[~down], "^-", color=INK, lw=0.8, ms=6, label="pulling harder")
    axes.plot(loads[down], moved[down], "v-", color=SOFT, lw=0.8, ms=6, mfc="white", label="letting go")
    if opens is not None and opens.low < top:
        axes.axvspan(
            opens.low,
            min(opens.high, top),
            facecolor="none",
            edgecolor=ACCENT,
            hatch="//",
            lw=0.0,
            label="the seat may open",
        )
    axes.set_xlim(0.0, top)
    axes.set_xlabel("load, N")
    axes.set_ylabel("dial, µm")
    axes.legend(loc="upper left", fontsize=8.5)


def _split(axes: Axes, told: Pulls, *, units: str) -> None:
    """Draw who gives how much under the usual load."""
    rows = list(told.split.items())
    words, scale = spring_row(units)
    for at, (_, band) in enumerate(rows):
        low, likely, high = (scale * one for one in (band.low, band.likely, band.high))
        axes.barh(-at, likely, color=SOFT, height=0.5)
        axes.plot([low, high], [-at, -at], color=INK, lw=1.6, marker="|", ms=9)
        axes.annotate(
            plain(likely, 3),
            (max(high, likely), -at),
            (6, -3),
            textcoords="offset points",
            fontsize=9,
        )
    names = [PARTS[name] + (",\ncomputed" if name == "tool" and told.computed else "") for name, _ in rows]
    axes.set_yticks([-at for at in range(len(rows))], [one.replace(", ", ",\n", 1) for one in names])
    axes.set_ylim(-len(rows) + 0.4, 0.6)
    axes.margins(x=0.2)
    axes.axvline(0.0, color=INK, lw=0.8)
    axes.set_xlabel(f"{words}; the thin line holds nine in ten")
    axes.set_title("Where the movement comes from")
