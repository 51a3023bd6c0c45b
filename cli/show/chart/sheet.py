"""A sheet of panels: where each lies beside its numbers, names and title, and the whole as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from stickout.cli.show.chart.axis import frame_of, margins_of
from stickout.cli.show.chart.legend import columns_of, legend_of
from stickout.cli.show.chart.look import Words, hatch_name, hatch_pattern
from stickout.cli.show.chart.marks import Entry, Place
from stickout.cli.show.chart.panel import Panel
from stickout.meshes.tagged import FloatArray

POINTS: Final = 72.0
_EDGE: Final = 3.0  # left free round the sheet
_GAP: Final = 9.0  # between panels
_HEADING: Final = 12.0
_PASSES: Final = 12  # each halves what is left to settle
_SETTLED: Final = 0.2
_RIM: Final = 1.5  # half the width of a line that runs along an axis


@dataclass(frozen=True)
class _Foot:
    """The legend of the whole sheet."""

    entries: Sequence[Entry]
    columns: int
    size: float


class Sheet:
    """A figure of so many inches; ``size`` is that of its letters in points."""

    def __init__(self, width: float, height: float, *, title: str, size: float, title_size: float) -> None:
        self.wide, self.high = POINTS * width, POINTS * height
        self.title, self.size, self.title_size = title, size, title_size
        self.panels: list[list[Panel]] = []
        self.ratios: Sequence[float] = ()
        self.foot: _Foot | None = None

    def subplots(
        self, nrows: int = 1, ncols: int = 1, *, height_ratios: Sequence[float] | None = None
    ) -> Any:  # noqa: ANN401 - as Matplotlib's: one panel, or an array of them
        """Return one panel, or an array of them; rows are as high as ``height_ratios`` tell."""
        self.panels = [[Panel(self) for _ in range(ncols)] for _ in range(nrows)]
        self.ratios = height_ratios or [1.0] * nrows
        grid = np.empty((nrows, ncols), dtype=object)
        for row, panels in enumerate(self.panels):
            grid[row, :] = panels
        return grid[0, 0] if grid.size == 1 else grid.squeeze()

    def legend(
        self,
        handles: Sequence[Entry],
        labels: Sequence[str],
        *,
        loc: Literal["outside lower left"],
        ncols: int,
        fontsize: float,
    ) -> None:
        """Put a legend below all panels, on the left."""
        del loc, labels  # where it always is; what the entries say themselves
        self.foot = _Foot(handles, ncols, fontsize)

    def draw_without_rendering(self) -> None:
        """Do nothing: numbers here are chosen once the size is known."""

    def svg(self) -> str:
        """Return the sheet as SVG text."""
        top = _EDGE + (1.6 * _HEADING if self.title else 0.0)
        foot = (
            columns_of(self.foot.entries, columns=self.foot.columns, size=self.foot.size)
            if self.foot
            else None
        )
        places = self._places(top, self.high - _EDGE - (foot.high if foot else 0.0))
        parts = []
        if self.title:
            parts.append(Words(self.title, _EDGE, _EDGE, _HEADING, va="top", bold=True).svg())
        for row, panels in enumerate(self.panels):
            for column, panel in enumerate(panels):
                parts.append(_drawn(panel, places[row][column], f"axes{row}{column}"))
        if foot:
            parts.append(foot.svg(_EDGE, self.high - _EDGE - foot.high))
        pens = {
            hatch_name(m.pen): m.pen for row in self.panels for one in row for m in one.marks if m.pen.hatch
        }
        defs = "".join(hatch_pattern(pen) for pen in pens.values())
        size = f'width="{self.wide:g}pt" height="{self.high:g}pt" viewBox="0 0 {self.wide:g} {self.high:g}"'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="DejaVu Sans, Verdana, sans-serif">'
            f'<defs>{defs}</defs><rect width="100%" height="100%" fill="#fff"/>{"".join(parts)}</svg>\n'
        )

    def _places(self, top: float, bottom: float) -> list[list[Place]]:
        """Return where each panel's axes lie: panels of a row and of a column keep in line."""
        rows, columns = len(self.panels), len(self.panels[0])
        room = np.zeros((rows, columns, 4))  # left, top, right, bottom of each panel's axes
        places: list[list[Place]] = []
        # What stands beside the axes depends on how large they are, which it leaves them.
        for _ in range(_PASSES):
            left, right = room[:, :, 0].max(axis=0), room[:, :, 2].max(axis=0)
            above, below = room[:, :, 1].max(axis=1), room[:, :, 3].max(axis=1)
            across = _cells(_EDGE, self.wide - _EDGE, before=left, after=right, ratios=[1.0] * columns)
            down = _cells(top, bottom, before=above, after=below, ratios=self.ratios)
            places = [
                [_fitted(panel, across[column], down[row]) for column, panel in enumerate(panels)]
                for row, panels in enumerate(self.panels)
            ]
            found = np.zeros_like(room)
            for row, panels in enumerate(self.panels):
                for column, panel in enumerate(panels):
                    cell = (*across[column], *down[row])
                    found[row, column] = margins_of(panel, places[row][column], cell=cell)
            if np.abs(found - room).max() < _SETTLED:
                break
            room = found
        return places


def _cells(
    start: float, stop: float, *, before: FloatArray, after: FloatArray, ratios: Sequence[float]
) -> list[tuple[float, float]]:
    """Return from where to where the axes of each row or column reach, with room before and after each."""
    free = stop - start - float(before.sum() + after.sum()) - _GAP * (len(ratios) - 1)
    out, at = [], start
    for one, lead, tail in zip(ratios, before.tolist(), after.tolist(), strict=True):
        size = max(free * one / sum(ratios), 1.0)
        out.append((at + lead, at + lead + size))
        at += lead + size + tail + _GAP
    return out


def _fitted(panel: Panel, across: tuple[float, float], down: tuple[float, float]) -> Place:
    """Return where axes lie in their cell: all of it, or what is left at one scale both ways."""
    x, y = panel.spans()
    wide, high = across[1] - across[0], down[1] - down[0]
    if not panel.equal:
        return Place(x, y, across[0], down[0], wide, high)
    scale = min(wide / x.length, high / y.length)
    left = across[0] + (wide - scale * x.length) / 2
    top = down[0] + (0.0 if panel.anchor == "N" else (high - scale * y.length) / 2)
    return Place(x, y, left, top, scale * x.length, scale * y.length)


def _drawn(panel: Panel, place: Place, name: str) -> str:
    """Return a panel with its axes, marks and words; lines end at the axes, words and arrows need not."""
    within = f' clip-path="url(#{name})"'
    pieces = [
        (one.order, f"<g{within}>{one.draw(place)}</g>" if one.clipped else one.draw(place))
        for one in panel.marks
    ]
    pieces += [(order, words.svg()) for order, words in panel.written(place)]
    pieces.sort(key=lambda piece: piece[0])
    corner = f'x="{place.left - _RIM:.2f}" y="{place.top - _RIM:.2f}"'
    size = f'width="{place.wide + 2 * _RIM:.2f}" height="{place.high + 2 * _RIM:.2f}"'
    clip = f'<clipPath id="{name}"><rect {corner} {size}/></clipPath>'
    legend = legend_of(panel, place) if panel.has_legend else ""
    return clip + frame_of(panel, place) + "".join(text for _, text in pieces) + legend
