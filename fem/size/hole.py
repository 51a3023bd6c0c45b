"""A bar in a bored hole, seen from the free end: where it may lie, how large it may be, what gaps are left.

The origin is on the hole's axis, y points to the front wall, which the edge touches at (radius, 0), z points
up. Lengths in metres. A bar has room in the circle that leaves ``front`` before it and ``behind`` behind it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.halving import halved
from stickout.meshes.outlines import Outline
from stickout.meshes.tagged import FloatArray

_HALVINGS: Final = 60
_RAYS: Final = 1440
_ROUNDING: Final = 1e-12


@dataclass(frozen=True)
class Space:
    """The room for a bar in a hole.

    Attributes
    ----------
    bore
        Diameter of the hole [m].
    front
        Gap between the room and the wall that is cut [m]: as far as the cutter of a round bar sticks out.
    behind
        Gap between the room and the far wall [m], for the chips.
    raised
        Height of the bar's axis above the hole's axis [m]; negative where the bar is dropped.
    """

    bore: float
    front: float
    behind: float
    raised: float = 0.0

    def __post_init__(self) -> None:
        for key, value in (("bore", self.bore), ("front", self.front)):
            if not (value > 0 and math.isfinite(value)):
                raise InputError(key=key, given=value, allowed="above 0 m", mend="Measure it again.")
        if not (self.behind >= 0 and math.isfinite(self.behind)):
            raise InputError(
                key="behind", given=self.behind, allowed="0 m or above", mend="Give 0 for no room at all."
            )
        if not abs(self.raised) < self.radius:
            raise InputError(
                key="raised",
                given=self.raised,
                allowed=f"within {max(self.radius, 0.0):.4g} m of the axis, with both gaps inside the hole",
                mend="Leave less room for the chips, or keep the bar nearer the middle of the hole.",
            )

    @property
    def radius(self) -> float:
        """Return the radius of the room [m]; not above zero where the gaps fill the hole."""
        return (self.bore - self.front - self.behind) / 2

    @property
    def middle(self) -> float:
        """Return the place of the room's middle along y [m]."""
        return (self.behind - self.front) / 2


@dataclass(frozen=True)
class Gaps:
    """Gaps between a bar and the hole's wall [m].

    Attributes
    ----------
    front
        From the bar's face to the edge, level with it: what the cutter sticks out.
    behind
        From the bar's back to the far wall, level with the edge.
    least
        The least one all round.
    """

    front: float
    behind: float
    least: float


@dataclass(frozen=True)
class Place:
    """Where a bar's axis lies in the hole [m], and the gaps it leaves."""

    y: float
    z: float
    gaps: Gaps


def farthest(outline: Outline, centre: tuple[float, float], *, turn: float = 0.0) -> float:
    """Return how far a section reaches from a point [m].

    Parameters
    ----------
    outline
        The section.
    centre
        The section's axis as seen from the point (y, z) [m].
    turn
        Angle by which the section is turned about +x [rad].

    Returns
    -------
    float
        Greatest distance from the point to the outline [m].

    Source
    ------
    The farthest point of a convex outline is a corner, or the point of an arc straight away (computed here).
    """
    cos, sin = math.cos(turn), math.sin(turn)
    y, z = cos * centre[0] + sin * centre[1], cos * centre[1] - sin * centre[0]
    away = math.hypot(y, z)
    reach = 0.0
    for angle in outline.corners():
        corner = float(outline.reach(np.array([angle]))[0])
        reach = max(reach, math.hypot(abs(y) + corner * math.cos(angle), abs(z) + corner * math.sin(angle)))
    if math.isfinite(outline.radius):
        point = (
            (outline.radius, 0.0)
            if away == 0
            else (outline.radius * abs(y) / away, outline.radius * abs(z) / away)
        )
        if point[0] <= outline.half_width and point[1] <= outline.half_height:
            reach = max(reach, away + outline.radius)
    return reach


def largest(shape: Callable[[float], Outline], space: Space, *, turn: float = 0.0) -> float:
    """Return the largest size at which a section fits the room.

    Parameters
    ----------
    shape
        Size [m] -> section; it must reach at least half its size and grow with it.
    space
        The room.
    turn
        Angle by which the section is turned about +x [rad].

    Returns
    -------
    float
        Size [m]: ``2 (radius - |raised|)`` for a round bar.
    """
    high = 2 * space.radius

    def fits(size: float) -> bool:
        return _reach(shape(size), space, turn) <= space.radius

    return high if fits(high) else halved(fits, (0.0, high), times=_HALVINGS)[0]


def _reach(outline: Outline, space: Space, turn: float) -> float:
    return farthest(outline, (0.0, space.raised), turn=turn)


def placed(outline: Outline, space: Space, *, turn: float = 0.0) -> Place | None:
    """Return where a section lies when it is put as far to the front as its room allows.

    Parameters
    ----------
    outline
        The section.
    space
        The room.
    turn
        Angle by which the section is turned about +x [rad].

    Returns
    -------
    Place or None
        None where it does not fit.
    """
    allowed = space.radius * (1 + _ROUNDING)
    if _reach(outline, space, turn) > allowed:
        return None

    def fits(forward: float) -> bool:
        return farthest(outline, (forward, space.raised), turn=turn) <= allowed

    axis = (space.middle + halved(fits, (0.0, space.radius), times=_HALVINGS)[0], space.raised)
    return Place(*axis, gaps_of(outline, axis, bore=space.bore, turn=turn))


def gaps_of(outline: Outline, axis: tuple[float, float], *, bore: float, turn: float = 0.0) -> Gaps:
    """Return the gaps that a section leaves in a hole.

    Parameters
    ----------
    outline
        The section.
    axis
        Its axis from that of the hole (y, z) [m].
    bore
        Diameter of the hole [m].
    turn
        Angle by which the section is turned about +x [rad].
    """
    points, wall = ring_of(outline, turn) + np.array(axis), bore / 2
    back = points * np.array([-1.0, 1.0])
    return Gaps(
        front=wall - _face(points),
        behind=wall - _face(back),
        least=wall - farthest(outline, axis, turn=turn),
    )


def ring_of(outline: Outline, turn: float = 0.0) -> FloatArray:
    """Return points round a section turned about +x [m], shape (n, 2), columns y and z."""
    return outline.ring(_RAYS, turn)


def _face(points: FloatArray) -> float:
    """Return how far to the front a closed ring of points reaches at the height of the hole's axis."""
    after = np.roll(points, -1, axis=0)
    crosses = (points[:, 1] > 0) != (after[:, 1] > 0)
    if not crosses.any():
        return float(points[:, 0].max())
    start, stop = points[crosses], after[crosses]
    share = start[:, 1] / (start[:, 1] - stop[:, 1])
    return float((start[:, 0] + share * (stop[:, 0] - start[:, 0])).max())
