"""Room for words: what the drawn pictures leave white, and where each word and the end view can stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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

    def taken(self, boxes: Box | FloatArray) -> FloatArray:
        """Return how much of boxes (..., 4) is taken, 0 to 1; 1 where one leaves the room.

        The room lies between head and foot, a little off the picture's sides.
        """
        width, height = self.size
        x0, y0, x1, y1 = np.moveaxis(np.rint(boxes).astype(np.int64), -1, 0)
        out = (x0 < 12 * self.unit) | (x1 > width - 12 * self.unit)
        out |= (y0 < HEAD * self.unit) | (y1 > height - FOOT * self.unit)
        left, right = (np.clip(one, 0, width) for one in (x0, x1))
        top, bottom = (np.clip(one, 0, height) for one in (y0, y1))
        s = self._sums
        inside = s[bottom, right] - s[top, right] - s[bottom, left] + s[top, left]
        return np.where(out, 1.0, inside / np.maximum((x1 - x0) * (y1 - y0), 1))


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
        return float(room.taken(box) + _meets(np.array(box), kept).any())

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
    reaches = np.repeat(_REACHES, len(_WAYS))[:, None] * room.unit
    for label, at, size in labels:
        tried = at + np.tile(_WAYS, (len(_REACHES), 1)) * (reaches + 0.5 * np.array(size))
        half = 0.5 * np.array(size) + 5 * room.unit
        boxes = np.concatenate([tried - half, tried + half], axis=1)
        others = [*kept, *(one.box for one in placed)]
        costs = (
            2000 * room.taken(boxes)
            + 5000 * _meets(boxes, others).any(axis=1)
            + 3000 * label.leader * _runs_through(at, tried, others).sum(axis=1)
            + np.hypot(*(tried - at).T) / room.unit
        )
        best = int(np.argmin(costs))
        x0, y0, x1, y1 = boxes[best].tolist()
        placed.append(Placed(label, tried[best], (x0, y0, x1, y1)))
    return placed


def _runs_through(start: FloatArray, ends: FloatArray, boxes: list[Box]) -> NDArray[np.bool_]:
    """Return whether leaders from one place to each of some ends (n, 2) run through boxes, shape (n, m)."""
    x, y = np.moveaxis(start + np.linspace(0, 1, 12)[:, None, None] * (ends - start), 2, 0)[..., None]
    x0, y0, x1, y1 = np.reshape(boxes, (-1, 4)).T
    return np.asarray(((x > x0) & (x < x1) & (y > y0) & (y < y1)).any(axis=0))


def _meets(box: FloatArray, others: list[Box]) -> NDArray[np.bool_]:
    """Return whether boxes (..., 4) overlap with each of some others, shape (..., m)."""
    x0, y0, x1, y1 = np.moveaxis(box, -1, 0)[..., None]
    left, top, right, bottom = np.reshape(others, (-1, 4)).T
    return np.asarray((x0 < right) & (left < x1) & (y0 < bottom) & (top < y1))
