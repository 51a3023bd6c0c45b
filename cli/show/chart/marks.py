"""What a panel keeps until it is known where its axes lie: marks, entries of a legend, and that place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stickout.cli.show.chart.look import PLAIN, Pen
from stickout.cli.show.chart.span import Span
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Place:
    """Where a panel's axes lie on the paper, in points, and what they reach over."""

    x: Span
    y: Span
    left: float
    top: float
    wide: float
    high: float

    def on_paper(self, points: FloatArray) -> FloatArray:
        """Return points of the axes (n, 2) as places on the paper."""
        points = np.atleast_2d(np.asarray(points, dtype=float))
        across = self.left + self.wide * self.x.share(points[:, 0])
        down = self.top + self.high * (1 - self.y.share(points[:, 1]))
        return np.stack([across, down], axis=1)

    def path(self, points: FloatArray, *, closed: bool = False) -> str:
        """Return a line through points as SVG writes it."""
        steps = "L".join(f"{x:.2f} {y:.2f}" for x, y in self.on_paper(points).tolist())
        return f"M{steps}{'Z' if closed else ''}"


@dataclass(frozen=True)
class Mark:
    """Something drawn: what lies above it, the points that the axes reach round, and how it is written."""

    order: float
    points: FloatArray
    draw: Callable[[Place], str]
    pen: Pen = PLAIN
    clipped: bool = True


@dataclass(frozen=True)
class Entry:
    """A line of a legend: its words and its sample, drawn between two places at one height."""

    words: str
    draw: Callable[[float, float, float], str]
