"""A part that is not round: how stiff it bends at its weakest and strongest angle, over a full round."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.beam.sections import flatted_sections
from stickout.fem.setup.work_parts import Work

_FINE: Final = 4001
# Second moment of a square, and of a hexagon, over that of the circle through its corners.
_SQUARE: Final = (1 / 48) / (math.pi / 64)
_HEXAGON: Final = (5 * math.sqrt(3) / 16) / (math.pi / 4)


@dataclass(frozen=True)
class Angles:
    """Second moment at the weakest and the strongest angle, and area, over those of the full round [-]."""

    weak: float
    strong: float
    area: float

    @property
    def mean(self) -> float:
        """Return the mean over a turn: the second moment goes as the cosine of twice the angle."""
        return (self.weak + self.strong) / 2


def bending_angles(work: Work) -> Angles:
    """Return how a part's section bends over a turn.

    Parameters
    ----------
    work
        The part; ``form`` counts all along it, on its first diameter.

    Source
    ------
    Second moments of a circle less its keyway, of a flatted circle, of square and hexagon (computed here).
    """
    radius = work.diameter_mm / 2
    if work.form == "flats":
        weak, strong = flatted_sections(2 * radius, work.across_flats_mm or 2 * radius, poisson_ratio=0.3)
        full = math.pi / 4 * radius**4
        area = weak.area / (math.pi * radius**2)
        return Angles(weak.second_moment / full, strong.second_moment / full, area)
    if work.form == "hexagon":
        return Angles(_HEXAGON, _HEXAGON, 1.5 * math.sqrt(3) / math.pi)
    if work.form == "square":
        return Angles(_SQUARE, _SQUARE, 2 / math.pi)
    if work.form == "keyway":
        return _keyway(radius, work.keyway_width_mm or 0.0, work.keyway_depth_mm or 0.0)
    return Angles(1.0, 1.0, 1.0)


def _keyway(radius: float, width: float, depth: float) -> Angles:
    """Return the angles of a round with one keyway, its depth measured from the crown."""
    y = np.linspace(-width / 2, width / 2, _FINE)
    top, floor = np.sqrt(radius**2 - y**2), radius - depth
    gone, first = np.trapezoid(top - floor, y), np.trapezoid((top**2 - floor**2) / 2, y)
    up, across = np.trapezoid((top**3 - floor**3) / 3, y), np.trapezoid((top - floor) * y**2, y)
    left, full = math.pi * radius**2 - gone, math.pi / 4 * radius**4
    weak, strong = (full - up - first**2 / left) / full, (full - across) / full
    return Angles(float(weak), float(strong), float(left / (math.pi * radius**2)))
