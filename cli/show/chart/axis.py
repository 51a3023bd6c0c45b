"""What stands round a panel: lines, numbers and names of its axes, its title; and the room all that takes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from stickout.cli.show.chart.look import Pen, Words
from stickout.cli.show.chart.marks import Place
from stickout.cli.show.chart.panel import Panel
from stickout.cli.show.chart.span import even_ticks, ratio_ticks
from stickout.cli.show.drawing.pen import SOFT, width_of
from stickout.meshes.tagged import FloatArray

_TICK: Final = 3.5  # length of a mark on an axis, and from there to its number, in points
_SHORT: Final = 2.0
_NAME: Final = 3.0  # from the numbers to the name of the axis
_TITLE: Final = 5.0  # from the axes to the title
_LEVEL: Final = 3.0  # numbers along the level axis are at least so many sizes of a letter apart
_UPRIGHT: Final = 2.0

Box = tuple[float, float, float, float]


def frame_of(panel: Panel, place: Place) -> str:
    """Return axes, numbers, names and title as SVG."""
    bottom, pen = place.top + place.high, Pen(stroke=SOFT, width=0.8)
    steps = "" if panel.bare else f"M{place.left:.2f} {place.top:.2f}V{bottom:.2f}h{place.wide:.2f}"
    if not panel.bare:
        for axis in (0, 1):
            for at, _, long in _ticks(panel, place, axis):
                size = _TICK if long else _SHORT
                steps += f"M{place.left:.2f} {at:.2f}h{-size}" if axis else f"M{at:.2f} {bottom:.2f}v{size}"
    words = "".join(one.svg() for one in (*_numbers(panel, place), *_names(panel, place)))
    return (pen.path(steps) if steps else "") + words


def margins_of(panel: Panel, place: Place, *, cell: Box) -> FloatArray:
    """Return how far a panel reaches beyond its cell with all its words: left, top, right, bottom.

    Parameters
    ----------
    panel
        The panel.
    place
        Where its axes lie.
    cell
        From left to right and from top to bottom of the cell that they lie in.
    """
    boxes = [_turned(one) for one in (*_numbers(panel, place), *_names(panel, place))]
    boxes += [words.box for _, words in panel.written(place)]
    if not panel.bare:
        boxes.append((place.left - _TICK, place.top, place.left + place.wide, place.top + place.high + _TICK))
    left, right, top, bottom = cell
    if not boxes:
        return np.zeros(4)
    low_x, low_y, high_x, high_y = np.array(boxes).T
    out = [left - low_x.min(), top - low_y.min(), high_x.max() - right, high_y.max() - bottom]
    return np.maximum(out, 0.0)


def _numbers(panel: Panel, place: Place) -> list[Words]:
    """Return the numbers on both axes."""
    axes = () if panel.bare else (0, 1)
    return [
        _number(panel, place, axis, at, label) for axis in axes for at, label, _ in _ticks(panel, place, axis)
    ]


def _names(panel: Panel, place: Place) -> Iterator[Words]:
    """Yield the title, set in as many lines as it needs, and the names of the axes."""
    size, boxes = panel.figure.size, [_turned(one) for one in _numbers(panel, place) if one.text]
    if panel.title:
        title = "\n".join(_set(one, place.wide, panel.figure.title_size) for one in panel.title.split("\n"))
        yield Words(title, place.left, place.top - _TITLE, panel.figure.title_size, va="bottom")
    if panel.bare:
        return
    left, bottom = place.left - _TICK, place.top + place.high + _TICK
    if panel.labels[0]:
        low = max([bottom, *(one[3] for one in boxes)])
        yield Words(panel.labels[0], place.left + place.wide / 2, low + _NAME, size, ha="center", va="top")
    if panel.labels[1]:
        far = min([left, *(one[0] for one in boxes if one[3] < bottom)])
        middle = place.top + place.high / 2
        yield Words(panel.labels[1], far - _NAME, middle, size, ha="center", va="bottom", turn=-90.0)


def _set(text: str, wide: float, size: float) -> str:
    """Return words broken into lines no wider than the axes, where they can be."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer, size=size) > wide:
            lines.append(word)
        else:
            lines[-1] = longer
    return "\n".join(lines)


def _number(panel: Panel, place: Place, axis: int, at: float, label: str) -> Words:
    """Return the number of a mark on an axis."""
    size = panel.figure.size
    if axis == 1:
        return Words(label, place.left - 2 * _TICK, at, size, ha="right", va="center", colour=SOFT)
    turn = -panel.named[2] if panel.named else 0.0
    # A turned name ends below its mark.
    ha = "right" if turn else "center"
    return Words(label, at, place.top + place.high + 2 * _TICK, size, ha=ha, va="top", colour=SOFT, turn=turn)


def _turned(words: Words) -> Box:
    """Return the box of words as they are turned."""
    left, top, right, bottom = words.box
    if not words.turn:
        return words.box
    turn = math.radians(words.turn)
    corners = np.array([[x - words.x, y - words.y] for x in (left, right) for y in (top, bottom)])
    across = words.x + corners @ [math.cos(turn), -math.sin(turn)]
    down = words.y + corners @ [math.sin(turn), math.cos(turn)]
    return float(across.min()), float(down.min()), float(across.max()), float(down.max())


def _ticks(panel: Panel, place: Place, axis: int) -> list[tuple[float, str, bool]]:
    """Return place, words and length (long or not) of the marks on an axis: 0 the level one."""
    span, size = (place.x, place.y)[axis], panel.figure.size
    points = (place.wide, place.high)[axis]
    if axis == 0 and panel.named is not None:
        at, labels = np.asarray(panel.named[0], dtype=float), list(panel.named[1])
        long = [True] * len(at)
    elif panel.log[axis]:
        at = ratio_ticks(span, points=points, size=size)
        number = panel.numbers[axis] or "{:g}".format
        labels = [number(float(one)) for one in at]
        long = [abs(one - round(one)) < 1e-9 for one in np.log10(at).tolist()]
    else:
        at, labels = even_ticks(span, most=int(points / (size * (_UPRIGHT if axis else _LEVEL))))
        long = [True] * len(at)
    share = span.share(at)
    spots = place.top + place.high * (1 - share) if axis else place.left + place.wide * share
    return list(zip(spots.tolist(), labels, long, strict=True))
