"""One pair of axes: it keeps what is drawn, by Matplotlib's words for it, until it is known where it lies."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Final, Unpack

import numpy as np
from numpy.typing import ArrayLike

from stickout.cli.show.chart.look import (
    Look,
    Pen,
    WordLook,
    Words,
    area_pen,
    line_pen,
    marker_at,
)
from stickout.cli.show.chart.marks import Entry, Mark, Place
from stickout.cli.show.chart.span import Span, span_round
from stickout.cli.show.drawing.pen import INK, head
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.cli.show.chart.sheet import Sheet

_NONE: Final = np.empty((0, 2))
_HEAD: Final = 8.5  # length of an arrow's head in points
_CAPTION: Final = 9.0  # letters of a caption whose arrow is drawn beside it


class Panel:
    """Axes that keep what is drawn on them."""

    def __init__(self, figure: Sheet) -> None:
        self.figure = figure
        self.marks: list[Mark] = []
        self.words: list[tuple[float, Callable[[Place], Words]]] = []
        self.entries: list[Entry] = []
        self.title, self.labels, self.bare, self.equal, self.anchor = "", ["", ""], False, False, "C"
        self.log = [False, False]
        self.limits: list[list[float | None]] = [[None, None], [None, None]]
        self.numbers: list[Callable[[float], str] | None] = [None, None]
        self.named: tuple[Sequence[float], Sequence[str], float] | None = None
        self.legend_title: str | None = None
        self.has_legend = False

    # What is drawn -----------------------------------------------------------------------------------------

    def plot(self, x: ArrayLike, y: ArrayLike, **look: Unpack[Look]) -> None:
        """Draw a line through points, a marker at each where one is told."""
        points = np.stack(np.broadcast_arrays(np.ravel(x), np.ravel(y)), axis=1).astype(float)
        pen = line_pen(look, ink=INK)

        def draw(place: Place) -> str:
            line = pen.path(place.path(points)) if pen.stroke != "none" and len(points) > 1 else ""
            if "marker" not in look:
                return line
            dots = (marker_at((x, y), look, ink=INK) for x, y in place.on_paper(points).tolist())
            return line + "".join(dots)

        def sample(left: float, right: float, at: float) -> str:
            line = pen.path(f"M{left:.2f} {at:.2f}H{right:.2f}") if pen.stroke != "none" else ""
            return line + (marker_at(((left + right) / 2, at), look, ink=INK) if "marker" in look else "")

        self._keep(Mark(look.get("zorder", 2.0), points, draw), look, sample)

    def fill(self, x: ArrayLike, y: ArrayLike, **look: Unpack[Look]) -> None:
        """Fill an outline."""
        points, pen = np.stack([np.ravel(x), np.ravel(y)], axis=1).astype(float), area_pen(look)

        def sample(left: float, right: float, at: float) -> str:
            return pen.path(f"M{left:.2f} {at - 3:.2f}H{right:.2f}v6H{left:.2f}Z")

        mark = Mark(
            look.get("zorder", 1.0), points, lambda place: pen.path(place.path(points, closed=True)), pen
        )
        self._keep(mark, look, sample)

    def fill_between(self, x: ArrayLike, y1: ArrayLike, *, y2: ArrayLike, **look: Unpack[Look]) -> None:
        """Fill what lies between two lines."""
        across, low, high = np.broadcast_arrays(np.ravel(x), np.ravel(y1), np.ravel(y2))
        self.fill(np.concatenate([across, across[::-1]]), np.concatenate([low, high[::-1]]), **look)

    def axhline(self, y: float, **look: Unpack[Look]) -> None:
        """Draw a level line from side to side."""
        pen = line_pen(look, ink=INK)

        def draw(place: Place) -> str:
            at = place.on_paper(np.array([[place.x.low, y]]))[0, 1]
            return pen.path(f"M{place.left:.2f} {at:.2f}h{place.wide:.2f}")

        self.marks.append(Mark(look.get("zorder", 2.0), np.array([[np.nan, y]]), draw))

    def axhspan(self, ymin: float, ymax: float, **look: Unpack[Look]) -> None:
        """Fill a level band from side to side."""
        pen, ends = area_pen(look), np.array([[np.nan, ymin], [np.nan, ymax]])

        def draw(place: Place) -> str:
            ends = place.on_paper(np.array([[place.x.low, ymin], [place.x.low, ymax]]))[:, 1]
            bottom, top = np.clip(ends, place.top, place.top + place.high)
            return pen.path(f"M{place.left:.2f} {top:.2f}h{place.wide:.2f}V{bottom:.2f}h{-place.wide:.2f}Z")

        self.marks.append(Mark(look.get("zorder", 1.0), ends, draw))

    def errorbar(
        self, x: FloatArray, y: FloatArray, *, yerr: FloatArray, fmt: str = "o", capsize: float = 3.0,
        **look: Unpack[Look],
    ) -> None:  # fmt: skip
        """Draw points with an upright bar each, from so far below to so far above it."""
        pen = line_pen(look, ink=INK)
        ends = np.concatenate([np.stack([x, y - yerr[0]], axis=1), np.stack([x, y + yerr[1]], axis=1)])

        def draw(place: Place) -> str:
            low, high = np.split(place.on_paper(ends), 2)
            steps = (
                f"M{at:.2f} {bottom:.2f}V{top:.2f}M{at - capsize:.2f} {bottom:.2f}h{2 * capsize:g}"
                f"M{at - capsize:.2f} {top:.2f}h{2 * capsize:g}"
                for (at, bottom), (_, top) in zip(low.tolist(), high.tolist(), strict=True)
            )
            return pen.path("".join(steps))

        self.marks.append(Mark(look.get("zorder", 2.0), ends, draw))
        dots: Look = {**look, "ls": "", "marker": fmt}
        self.plot(x, y, **dots)

    def text(self, x: float, y: float, *, s: str, transform: object = None, **look: Unpack[WordLook]) -> None:
        """Write words at a point; with ``transform=axes.transAxes`` x and y count in parts of the axes."""
        share = transform is not None
        self._write(s, np.array([x, y], dtype=float), (0.0, 0.0), share=share, look=look)

    def annotate(
        self,
        text: str,
        xy: tuple[float, float],
        *,
        xytext: tuple[float, float] | None = None,
        textcoords: str | None = None,
        arrowprops: dict[str, Any] | None = None,
        **look: Unpack[WordLook],
    ) -> None:
        """Write words beside a point, and an arrow to it where one is told; no words: an arrow alone."""
        tip, order = np.array(xy, dtype=float), look.get("zorder", 3.0)
        if textcoords is None:
            if text:
                self._write(text, tip, (0.0, 0.0), look=look)
            if arrowprops is not None and xytext is not None:
                tail = np.array(xytext, dtype=float)
                ends = np.array([tail, tip])
                self._arrow(lambda place: place.on_paper(ends), arrowprops, points=ends, order=order)
            return
        right, up = xytext or (0.0, 0.0)
        self._write(text, tip, (right, -up), look=look)
        if arrowprops is not None:
            start = np.array([right, -up - np.copysign(look.get("fontsize", _CAPTION), -up)])
            self._arrow(
                lambda place: place.on_paper(tip) + np.array([start, (0.0, 0.0)]), arrowprops, points=_NONE,
                order=order,
            )  # fmt: skip

    # How the axes are --------------------------------------------------------------------------------------

    def set_xlim(self, left: float | None = None, right: float | None = None) -> None:
        """Set where the level axis begins and ends."""
        self.limits[0] = [left, right]

    def set_ylim(self, bottom: float | None = None, top: float | None = None) -> None:
        """Set where the upright axis begins and ends."""
        self.limits[1] = [bottom, top]

    def set_aspect(self, aspect: str, *, adjustable: str = "box", anchor: str = "C") -> None:
        """Draw both axes to one scale; the axes shrink to that."""
        self.equal, self.anchor = (aspect, adjustable) == ("equal", "box"), anchor

    def set_axis_off(self) -> None:
        """Leave out lines, numbers and names of the axes."""
        self.bare = True

    def set_title(self, label: str) -> None:
        """Write a title above, to the left."""
        self.title = label

    def set_xlabel(self, xlabel: str) -> None:
        """Name the level axis."""
        self.labels[0] = xlabel

    def set_ylabel(self, ylabel: str) -> None:
        """Name the upright axis."""
        self.labels[1] = ylabel

    def by_ratios(self, axis: int, number: Callable[[float], str] | None = None) -> None:
        """Space an axis by ratios, 0 the level one, its numbers as they are written."""
        self.log[axis], self.numbers[axis] = True, number

    def name_places(self, at: Sequence[float], names: Sequence[str], *, turn: float) -> None:
        """Put names on the level axis in place of numbers, turned by degrees."""
        self.named = (at, names, turn)

    @property
    def transAxes(self) -> str:
        """Return what tells ``text`` to count in parts of the axes."""
        return "axes"

    # Its legend --------------------------------------------------------------------------------------------

    def get_legend_handles_labels(self) -> tuple[list[Entry], list[str]]:
        """Return what a legend would hold."""
        return self.entries, [one.words for one in self.entries]

    def legend(self, *, frameon: bool = False, title: str | None = None) -> None:
        """Put a legend where it covers least; it has no frame."""
        self.has_legend, self.legend_title = not frameon, title

    # What the sheet asks -----------------------------------------------------------------------------------

    def spans(self) -> tuple[Span, Span]:
        """Return what the axes reach over."""
        points = np.concatenate([_NONE, *(one.points for one in self.marks)])
        x, y = (
            span_round(points[:, at], low=self.limits[at][0], high=self.limits[at][1], log=self.log[at])
            for at in (0, 1)
        )
        return x, y

    def written(self, place: Place) -> list[tuple[float, Words]]:
        """Return the words on the axes, each with what lies above it."""
        return [(order, words(place)) for order, words in self.words]

    def _keep(self, mark: Mark, look: Look, sample: Callable[[float, float, float], str]) -> None:
        self.marks.append(mark)
        if "label" in look:
            self.entries.append(Entry(look["label"], sample))

    def _write(
        self, text: str, at: FloatArray, off: tuple[float, float], *, look: WordLook, share: bool = False
    ) -> None:
        def words(place: Place) -> Words:
            spot = (
                np.array([place.left + at[0] * place.wide, place.top + (1 - at[1]) * place.high])
                if share
                else place.on_paper(at)[0]
            )
            return Words(
                text,
                float(spot[0]) + off[0],
                float(spot[1]) + off[1],
                look.get("fontsize", self.figure.size),
                ha=look.get("ha", "left"),
                va=look.get("va", "baseline"),
                colour=look.get("color", INK),
                rim="bbox" in look,
            )

        self.words.append((look.get("zorder", 3.0), words))

    def _arrow(
        self, ends: Callable[[Place], FloatArray], told: dict[str, Any], *, points: FloatArray, order: float
    ) -> None:
        colour, width = told.get("color", INK), told.get("lw", 1.0)
        closed = told.get("arrowstyle") == "-|>"

        def draw(place: Place) -> str:
            start, tip = ends(place)
            way = tip - start
            length = float(np.linalg.norm(way))
            if length == 0:
                return ""
            toward = way / length
            size = min(_HEAD * (1 if closed else 0.7), length)
            stop = tip - (size if closed else 0.0) * toward
            pen = Pen(stroke=colour, width=width)
            line = pen.path(f"M{start[0]:.2f} {start[1]:.2f}L{stop[0]:.2f} {stop[1]:.2f}")
            if closed:
                spot = (float(tip[0]), float(tip[1]))
                return line + head(spot, (float(toward[0]), float(toward[1])), size=size, colour=colour)
            back, side = tip - size * toward, 0.5 * size * np.array([-toward[1], toward[0]])
            corners = "L".join(f"{x:.2f} {y:.2f}" for x, y in (back + side, tip, back - side))
            return line + pen.path(f"M{corners}")

        self.marks.append(Mark(order, points, draw, clipped=False))
