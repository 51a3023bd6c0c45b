"""Legends: samples with their words, in columns; and the place on a panel where one covers least."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.cli.show.chart.look import Words
from stickout.cli.show.chart.marks import Entry, Place
from stickout.cli.show.chart.panel import Panel
from stickout.cli.show.drawing.pen import width_of
from stickout.meshes.tagged import FloatArray

# In sizes of the letters: a sample, from it to its words, from column to column, from row to row.
_SAMPLE: Final = 2.0
_WORDS: Final = 0.8
_COLUMN: Final = 1.6
_ROW: Final = 1.45
_INSIDE: Final = 6.0  # from the axes to a legend on them, in points
# Where a legend may stand: shares of the free room from the left and from the top; the first of equals wins.
_SPOTS: Final = ((1, 0), (0, 0), (0, 1), (1, 1), (1, 0.5), (0, 0.5), (0.5, 1), (0.5, 0), (0.5, 0.5))
_BETWEEN: Final = np.linspace(0.0, 1.0, 9)  # a line is felt between its points too


@dataclass(frozen=True)
class Columns:
    """Entries of a legend set in columns."""

    entries: Sequence[Entry]
    columns: int
    size: float
    title: str = ""

    @property
    def rows(self) -> int:
        """Return how many entries stand in a column."""
        return math.ceil(len(self.entries) / self.columns)

    @property
    def widths(self) -> list[float]:
        """Return how wide each column is."""
        groups = [self.entries[at : at + self.rows] for at in range(0, len(self.entries), self.rows)]
        letters = [max(width_of(one.words, size=self.size) for one in group) for group in groups]
        return [one + (_SAMPLE + _WORDS + _COLUMN) * self.size for one in letters]

    @property
    def wide(self) -> float:
        """Return how wide the legend is."""
        return max(sum(self.widths), width_of(self.title, size=self.size))

    @property
    def high(self) -> float:
        """Return how high the legend is."""
        return (self.rows + bool(self.title)) * _ROW * self.size + 0.4 * self.size

    def svg(self, left: float, top: float) -> str:
        """Return the legend with its upper left corner at a place."""
        size, parts = self.size, []
        row = top + 0.2 * size
        if self.title:
            parts.append(Words(self.title, left + self.wide / 2, row, size, ha="center", va="top").svg())
            row += _ROW * size
        at, widths = left, self.widths
        for number, one in enumerate(self.entries):
            column, place = divmod(number, self.rows)
            at = left + sum(widths[:column])
            middle = row + (place + 0.5) * _ROW * size
            parts.append(one.draw(at, at + _SAMPLE * size, middle))
            parts.append(Words(one.words, at + (_SAMPLE + _WORDS) * size, middle, size, va="center").svg())
        return "".join(parts)


def columns_of(entries: Sequence[Entry], *, columns: int, size: float) -> Columns:
    """Return entries set in so many columns."""
    return Columns(entries, columns, size)


def legend_of(panel: Panel, place: Place) -> str:
    """Return the legend of a panel where it covers least of what is drawn there."""
    legend = Columns(panel.entries, 1, panel.figure.size, panel.legend_title or "")
    points = _points(panel, place)
    free = (place.wide - legend.wide - 2 * _INSIDE, place.high - legend.high - 2 * _INSIDE)

    def corner(spot: tuple[float, float]) -> tuple[float, float]:
        return place.left + _INSIDE + spot[0] * free[0], place.top + _INSIDE + spot[1] * free[1]

    def covered(spot: tuple[float, float]) -> int:
        left, top = corner(spot)
        x, y = points.T
        inside = (x > left) & (x < left + legend.wide) & (y > top) & (y < top + legend.high)
        return int(inside.sum())

    return legend.svg(*corner(min(_SPOTS, key=covered)))


def _points(panel: Panel, place: Place) -> FloatArray:
    """Return points along all that is drawn on a panel, and the corners of its words, on paper."""
    out = [np.empty((0, 2))]
    for mark in panel.marks:
        points = mark.points[np.isfinite(mark.points).all(axis=1)]
        if not len(points):
            continue
        spots = place.on_paper(points)
        steps = spots[:-1, None] + _BETWEEN[None, :, None] * np.diff(spots, axis=0)[:, None]
        out += [spots, steps.reshape(-1, 2)]
    for _, words in panel.written(place):
        left, top, right, bottom = words.box
        out.append(np.array([[x, y] for x in (left, right) for y in (top, bottom)]))
    return np.concatenate(out)
