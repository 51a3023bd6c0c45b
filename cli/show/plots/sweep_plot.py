"""The picture of a sweep: curves with their bands over one key, or dots over words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_scale, save, sheet
from stickout.cli.show.plots.sweep_contour import draw_field
from stickout.cli.sweeps.answer import crossed_at
from stickout.cli.sweeps.gathered import Gathered
from stickout.cli.sweeps.labels import BANDS
from stickout.cli.sweeps.limits import FOUR_TO_ONE, Bound
from stickout.cli.text.words import plain
from stickout.meshes.tagged import FloatArray

# Line and colour of a curve, told apart in grey print as well.
_LINES: Final = (("-", ACCENT), ("--", INK), ("-.", SOFT), (":", INK), ("-", SOFT), ("--", ACCENT))
_WIDE: Final = 30.0  # a panel whose numbers span more than this is drawn on a log axis
_LONG_NAME: Final = 10
_MOST_DOTS: Final = 40
_DOTS: Final = "os^D"  # the next one when the lines begin anew


def draw_sweep(found: Gathered, path: Path, *, columns: Sequence[str], limits: Sequence[Bound]) -> None:
    """Write the picture of a sweep.

    Parameters
    ----------
    found
        The finished sweep.
    path
        File for the picture; its suffix says the format.
    columns
        What to draw, a panel each over one key or over words; over two keys the first only.
    limits
        Limits to draw.
    """
    title = found.plan.tables.get("title") or "Sweep"
    if found.along is None and len(found.measured) == 2:
        draw_field(found, path, column=columns[0], limits=limits)
        return
    height = 1.1 + 2.4 * len(columns)
    with sheet(8.0, height, title=str(title)) as figure:
        panels = figure.subplots(len(columns), 1, sharex=True, squeeze=False)[:, 0]
        for axes, column in zip(panels, columns, strict=True):
            _panel(axes, found, column)
            _draw_limits(axes, found, column, limits)
        if found.along is not None:
            panels[-1].set_xlabel(found.key_label(found.along).text)
            _name_vertical(panels[0], found, limits)
        handles, names = panels[0].get_legend_handles_labels()
        if handles:
            figure.legend(handles, names, loc="outside lower center", ncols=3, fontsize=9)
        save(figure, path)


def _panel(axes: Axes, found: Gathered, column: str) -> None:
    """Draw one column."""
    label = found.label(column)
    values = np.array([found.number(column, at) * label.scale for at in range(found.count)])
    ends = np.array(
        [[found.number(one, at) * label.scale for at in range(found.count)] for one in _band(column)]
    )
    if _spans(values):
        log_scale(axes)
    else:
        axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: plain(float(value), 3)))
    if found.along is None:
        _draw_dots(axes, found, values, ends)
    else:
        _draw_curves(axes, found, values, ends)
    axes.set_ylabel(label.words.partition(",")[0] + (f"\n{label.unit}" if label.unit else ""))
    axes.grid(visible=True, color=PALE, lw=0.7)
    axes.set_axisbelow(True)
    _mark_failed(axes, found)


def _band(column: str) -> tuple[str, str]:
    """Return the columns of a value's band; the value itself where it has none."""
    return BANDS.get(column, (column, column))


def _spans(values: FloatArray) -> bool:
    """Return whether numbers are so far apart that only a log axis shows them all."""
    sound = values[np.isfinite(values)]
    return bool(len(sound)) and bool(sound.min() > 0) and bool(sound.max() > _WIDE * sound.min())


def _draw_curves(axes: Axes, found: Gathered, values: FloatArray, ends: FloatArray) -> None:
    """Draw a curve and its band for each group of words."""
    groups = found.groups()
    for n, (name, members) in enumerate(groups.items()):
        x = np.array([found.number(found.the_key.key, at) for at in members])
        order = np.argsort(x, kind="stable")
        at = np.array(members)[order]
        if not np.isfinite(values[at]).any():
            continue
        style, colour = _LINES[n % len(_LINES)]
        dot = _DOTS[n // len(_LINES) % len(_DOTS)] if len(at) <= _MOST_DOTS else None
        axes.fill_between(x[order], ends[0, at], ends[1, at], color=colour, alpha=0.14, lw=0)
        label = name or "likely, band of the assumed numbers"
        axes.plot(
            x[order],
            values[at],
            style,
            color=colour,
            lw=1.8,
            marker=dot,
            ms=3.5,
            label=label,
        )


def _draw_dots(axes: Axes, found: Gathered, values: FloatArray, ends: FloatArray) -> None:
    """Draw a dot with its band for each case, named by its words."""
    names = [found.name(at) if not found.measured else found.where(at) for at in range(found.count)]
    x = np.arange(found.count)
    sound = np.isfinite(values)
    bars = np.abs(ends - values)[:, sound]
    bars[~np.isfinite(bars)] = 0.0
    axes.errorbar(x[sound], values[sound], yerr=bars, fmt="o", color=ACCENT, ms=6, lw=1.4, capsize=3)
    turned = max(map(len, names)) > _LONG_NAME or found.count > 6
    axes.set_xticks(x, names, rotation=30 if turned else 0, ha="right" if turned else "center")
    axes.set_xlim(-0.6, found.count - 0.4)


def _mark_failed(axes: Axes, found: Gathered) -> None:
    """Mark the cases without an answer on the lower edge."""
    failed = sorted(set(range(found.count)) - set(found.done))
    if not failed:
        return
    x = [found.number(found.the_key.key, at) if found.along is not None else at for at in failed]
    axes.plot(
        x,
        [0.0] * len(x),
        "x",
        transform=axes.get_xaxis_transform(),
        color=INK,
        ms=7,
        mew=1.8,
        clip_on=False,
        zorder=6,
        label="no answer",
    )


def _draw_limits(axes: Axes, found: Gathered, column: str, limits: Sequence[Bound]) -> None:
    """Draw the limits of a column as lines across, and where the four-to-one rule lies as lines up."""
    label = found.label(column)
    for limit in limits:
        if limit.column == column:
            value = limit.value * label.scale
            axes.axhline(value, color=INK, lw=1.4, ls=(0, (6, 3)), zorder=1)
            axes.annotate(
                f"limit\n{label.value(limit.value)}",
                xy=(1.0, value),
                xycoords=axes.get_yaxis_transform(),
                xytext=(4, 0),
                textcoords="offset points",
                va="center",
                fontsize=9,
            )
        if limit == FOUR_TO_ONE and found.along is not None:
            for place in _four_to_one(found):
                axes.axvline(place, color=INK, lw=1.4, ls=(0, (1, 1.5)), zorder=1)


def _four_to_one(found: Gathered) -> list[float]:
    """Return where the overhang is four times the size, each place once."""
    curves = (crossed_at(found, FOUR_TO_ONE, members=members) for members in found.groups().values())
    return sorted({float(f"{one:.4g}") for places in curves for one in places})


def _name_vertical(axes: Axes, found: Gathered, limits: Sequence[Bound]) -> None:
    """Name the line of the four-to-one rule, and keep the ticks of the key plain."""
    axes.xaxis.set_major_locator(MaxNLocator(nbins=9, steps=[1, 2, 5, 10]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: plain(float(value), 4)))
    if FOUR_TO_ONE not in limits:
        return
    for place in _four_to_one(found):
        axes.annotate(
            "overhang 4 x size",
            xy=(place, 1.0),
            xycoords=axes.get_xaxis_transform(),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            fontsize=9,
        )
