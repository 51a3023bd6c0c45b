"""Room for words: what the drawn pictures leave white, and where each word and the end view can stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.picture import Pictures
from stickout.cli.show.scene.signs import Label
from stickout.meshes.tagged import FloatArray, IntArray

Box = tuple[float, float, float, float]

HEAD, FOOT = 120.0, 78.0  # bands for title and foot, of a picture 720 high
_REACHES = (34.0, 60.0, 95.0, 140.0, 195.0)
_TURNS = np.radians(np.arange(0, 360, 15))
_WAYS = np.stack([np.cos(_TURNS), np.sin(_TURNS)], axis=1)


@dataclass(frozen=True)
class Placed:
    """A label with the middle of its word [pixel], shape (2,), and the box it fills."""

    label: Label
    middle: FloatArray
    box: Box


class Room:
    """What is taken of a picture: an integral image of everything that is not paper in any of its frames."""

    def __init__(self, pictures: Pictures) -> None:
        taken = (pictures.min(axis=0).min(axis=2) < 250).astype(np.int64)
        self._sums: IntArray = np.pad(taken.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        self.size = (taken.shape[1], taken.shape[0])
        self.unit = self.size[1] / 720

    def taken(self, box: Box) -> float:
        """Return how much of a box is taken, 0 to 1; 1 where it leaves the room between head and foot."""
        x0, y0, x1, y1 = (round(one) for one in box)
        width, height = self.size
        if x0 < 12 * self.unit or x1 > width - 12 * self.unit:
            return 1.0
        if y0 < HEAD * self.unit or y1 > height - FOOT * self.unit:
            return 1.0
        s = self._sums
        inside = s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0]
        return float(inside) / max((x1 - x0) * (y1 - y0), 1)


def inset_place(room: Room, radius: float, *, kept: list[Box]) -> FloatArray | None:
    """Return the middle of the free corner for the end view [pixel]; None where every corner is taken.

    ``kept`` are boxes that are taken beside what is drawn.
    """
    width, height = room.size
    edge = radius + 22 * room.unit
    low, high = height - FOOT * room.unit - radius - 34 * room.unit, HEAD * room.unit + radius + 8 * room.unit
    places = [np.array([x, y]) for y in (low, high) for x in (width - edge, edge)]

    def cost(at: FloatArray) -> float:
        box = _round_box(at, 1.04 * radius, room.unit)
        return room.taken(box) + any(_meet(box, one) for one in kept)

    best = min(places, key=cost)
    return best if cost(best) < 0.03 else None


def _round_box(middle: FloatArray, radius: float, unit: float) -> Box:
    """Return the box of the end view and the word under it."""
    x, y = middle
    return x - radius, y - radius, x + radius, y + radius + 28 * unit


def place_labels(
    room: Room,
    labels: list[tuple[Label, FloatArray, tuple[float, float]]],
    *,
    kept: list[Box],
) -> list[Placed]:
    """Return where words stand: near their place, on white paper, clear of each other and of what is kept.

    Parameters
    ----------
    room
        What the pictures leave free.
    labels
        Each with the pixel of its place and the size of its word [pixel].
    kept
        Boxes that are taken already.
    """
    placed: list[Placed] = []
    for label, at, size in labels:
        tried = [
            at
            + np.array(
                [
                    np.cos(turn) * (reach * room.unit + 0.5 * size[0]),
                    np.sin(turn) * (reach * room.unit + 0.5 * size[1]),
                ]
            )
            for reach in _REACHES
            for turn in _TURNS
        ]
        boxes = [_box(one, size, pad=5 * room.unit) for one in tried]
        others = [*kept, *(one.box for one in placed)]
        costs = [
            2000 * room.taken(box)
            + 5000 * any(_meet(box, other) for other in others)
            + 3000 * sum(label.leader and _runs_through((at, one), other) for other in others)
            + float(np.hypot(*(one - at))) / room.unit
            for one, box in zip(tried, boxes, strict=True)
        ]
        best = int(np.argmin(costs))
        placed.append(Placed(label, tried[best], boxes[best]))
    return placed


def _runs_through(line: tuple[FloatArray, FloatArray], box: Box) -> bool:
    """Return whether a leader runs through another word."""
    start, end = line
    steps = start + np.linspace(0, 1, 12)[:, None] * (end - start)
    return bool(
        np.any(
            (steps[:, 0] > box[0]) & (steps[:, 0] < box[2]) & (steps[:, 1] > box[1]) & (steps[:, 1] < box[3])
        )
    )


def _box(middle: FloatArray, size: tuple[float, float], *, pad: float) -> Box:
    """Return the box of a word."""
    x, y = middle
    return x - 0.5 * size[0] - pad, y - 0.5 * size[1] - pad, x + 0.5 * size[0] + pad, y + 0.5 * size[1] + pad


def _meet(one: Box, two: Box) -> bool:
    """Return whether two boxes overlap."""
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]
