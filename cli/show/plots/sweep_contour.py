"""The picture of a sweep over two keys: a filled contour, a panel for each group of words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.contour import ContourSet
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator
from matplotlib.tri import Triangulation

from stickout.cli.show.plots.plot_style import ACCENT, INK, save, sheet
from stickout.cli.sweeps.gathered import Gathered
from stickout.cli.sweeps.limits import FOUR_TO_ONE, Bound
from stickout.cli.sweeps.plan import HYPERCUBE
from stickout.cli.text.words import plain
from stickout.meshes.tagged import FloatArray

MOST_PANELS: Final = 4
_MANY: Final = 32  # shades
_STYLES: Final = ("-", "--", "-.")  # of named limits, one after another
_WIDE: Final = 10.0  # from here on levels go by factors, not by steps
_SHADES: Final = LinearSegmentedColormap.from_list("paper", ["#ffffff", "#f3dfd2", "#dfae92", "#bf7a55"])


def draw_field(found: Gathered, path: Path, *, column: str, limits: Sequence[Bound]) -> None:
    """Write the picture of a sweep over two keys.

    Parameters
    ----------
    found
        The finished sweep; two of its keys have numbers.
    path
        File for the picture.
    column
        What to draw.
    limits
        Limits to draw as lines.
    """
    groups = list(found.groups().items())[:MOST_PANELS]
    label = found.label(column)
    across = min(2, len(groups))
    down = math.ceil(len(groups) / across)
    own = [limit.value * label.scale for limit in limits if limit.column == column]
    scale = _scale(_values(found, column, found.done), named=own)
    title = found.plan.tables.get("title") or "Sweep"
    with sheet(1.4 + 5.8 * across, 1.0 + 4.4 * down, title=f"{title}: {label.words}") as figure:
        panels = figure.subplots(down, across, sharex=True, sharey=True, squeeze=False).ravel()
        drawn = None
        for axes, (name, members) in zip(panels, groups, strict=False):
            drawn = _panel(axes, found, members, column=column, scale=scale) or drawn
            _lines(axes, found, members, limits=limits)
            axes.set_title(name)
            axes.set_xlabel(found.key_label(found.measured[0]).text)
        for axes in panels[len(groups) :]:
            axes.set_axis_off()
        for row in range(down):
            panels[row * across].set_ylabel(found.key_label(found.measured[1]).text)
        if drawn is not None:
            bar = figure.colorbar(drawn, ax=panels.tolist(), ticks=scale.steps, shrink=0.9)
            bar.set_label(label.text)
            bar.ax.yaxis.set_major_formatter(FuncFormatter(scale.text))
            bar.ax.minorticks_off()
        handles, names = panels[0].get_legend_handles_labels()
        if handles:
            figure.legend(handles, names, loc="outside lower center", ncols=3, fontsize=9)
        save(figure, path)


def _panel(
    axes: Axes, found: Gathered, members: Sequence[int], *, column: str, scale: Scale
) -> ContourSet | None:
    """Draw one field; None where too few cases have a number."""
    answered = set(found.done)
    for marks, chosen, name in (
        ("x", [at for at in members if at not in answered], "no answer"),
        (".", [at for at in members if at in answered], "a case"),
    ):
        x, y = (np.array([found.number(axis.key, at) for at in chosen]) for axis in found.measured)
        if chosen and (marks == "x" or found.plan.how == HYPERCUBE):
            axes.plot(x, y, marks, color=INK, ms=6 if marks == "x" else 3, mew=1.4, label=name, zorder=5)
    place, value = _field(found, members, column)
    if place is None or len(scale.shades) < 2:
        return None
    drawn: ContourSet = axes.tricontourf(place, scale.to(value), levels=scale.shades, cmap=_SHADES)
    lines = axes.tricontour(
        place, scale.to(value), levels=scale.steps, colors=[INK], linewidths=0.6, linestyles="solid"
    )
    for text in axes.clabel(lines, fmt=scale.text, fontsize=9):
        text.set_clip_on(False)  # a label at the edge of the field stays whole
    return drawn


def _field(found: Gathered, members: Sequence[int], column: str) -> tuple[Triangulation | None, FloatArray]:
    """Return the places and values of the cases that have a number, None where they span no area."""
    value = _values(found, column, members)
    sound = np.array(members)[np.isfinite(value)]
    x, y = (np.array([found.number(axis.key, at) for at in sound]) for axis in found.measured)
    if len(sound) < 3 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return None, value
    # Triangles are chosen by shape, so both keys must count alike.
    joined = Triangulation((x - x.min()) / np.ptp(x), (y - y.min()) / np.ptp(y))
    return Triangulation(x, y, joined.triangles), value[np.isfinite(value)]


def _values(found: Gathered, column: str, members: Sequence[int]) -> FloatArray:
    """Return the numbers of some cases in the units of the picture."""
    scale = found.label(column).scale
    values: FloatArray = np.array([found.number(column, at) * scale for at in members])
    return values


@dataclass(frozen=True)
class Scale:
    """How numbers become shades: as they are, or by their logarithms where they differ by a large factor.

    ``shades`` are where the shades change, ``steps`` the labelled lines among them, at round numbers.
    """

    log: bool
    shades: FloatArray
    steps: FloatArray

    def to(self, values: FloatArray) -> FloatArray:
        """Return what is drawn in place of the numbers."""
        return np.log10(values) if self.log else values

    def text(self, drawn: float, _: object = None) -> str:
        """Return the number that is drawn so."""
        return plain(10**drawn if self.log else drawn, 3)


def _scale(values: FloatArray, *, named: Sequence[float]) -> Scale:
    """Return how to draw these numbers; lines that are named already get no label of their own."""
    sound = values[np.isfinite(values)]
    if not len(sound) or sound.min() == sound.max():
        return Scale(log=False, shades=np.array([]), steps=np.array([]))
    low, high = float(sound.min()), float(sound.max())
    log = low > 0 and high > _WIDE * low
    if log:
        steps = np.log10(LogLocator(subs=(1.0, 2.0, 5.0)).tick_values(low, high))
        low, high = math.log10(low), math.log10(high)
    else:
        steps = np.array(MaxNLocator(nbins=9).tick_values(low, high))
    little = 1e-6 * (high - low)  # so that the least and the greatest number lie inside
    shades = np.linspace(low - little, high + little, _MANY)
    wanted = (steps > low) & (steps < high)
    for one in named:
        wanted &= ~np.isclose(steps, math.log10(one) if log and one > 0 else one)
    return Scale(log=log, shades=shades, steps=steps[wanted])


def _lines(axes: Axes, found: Gathered, members: Sequence[int], *, limits: Sequence[Bound]) -> None:
    """Draw the limits as named lines."""
    styles = iter(_STYLES)
    for limit in limits:
        place, value = _field(found, members, limit.column)
        label = found.label(limit.column)
        level = limit.value * label.scale
        if place is None or not value.min() < level < value.max():
            continue
        four = limit == FOUR_TO_ONE
        name = "overhang 4 x size" if four else f"{label.words.partition(',')[0]} {label.value(limit.value)}"
        style = (0, (1, 1.5)) if four else next(styles, _STYLES[-1])
        log = limit.value > 0 and value.min() > 0
        drawn, level = (np.log10(value), math.log10(level)) if log else (value, level)
        axes.tricontour(
            place, drawn, levels=[level], colors=[INK if four else ACCENT], linestyles=[style], linewidths=2.4
        )
        axes.plot([], [], color=INK if four else ACCENT, ls=style, lw=2.4, label=name)
