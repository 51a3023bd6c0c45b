"""A bar in a hole: circle geometry against closed forms and against points tried one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stickout.fem.errors import InputError
from stickout.fem.size.hole import Space, farthest, gaps_of, largest, placed, ring_of
from stickout.meshes.outlines import Outline

SPACE = Space(bore=0.020, front=0.002, behind=0.003)


def round_bar(size: float) -> Outline:
    """Return a circle."""
    return Outline(radius=size / 2)


def square_bar(size: float) -> Outline:
    """Return a square."""
    return Outline(half_width=size / 2, half_height=size / 2)


def flatted_bar(size: float) -> Outline:
    """Return a circle with flats a tenth of its diameter deep."""
    return Outline(radius=size / 2, half_height=0.4 * size)


def test_a_round_bar_takes_the_hole_less_both_gaps() -> None:
    """Closed form: 20 - 2 - 3 = 15 mm; raised or dropped by h it loses 2 h."""
    assert largest(round_bar, SPACE) == pytest.approx(0.015)
    for raised in (0.001, -0.001):
        higher = Space(0.020, 0.002, 0.003, raised=raised)
        assert largest(round_bar, higher) == pytest.approx(0.013)


def test_a_square_touches_with_its_corners() -> None:
    """Closed form: side d/sqrt(2); raised by h, (w/2)^2 + (w/2 + h)^2 = (d/2)^2; any turn."""
    side = largest(square_bar, SPACE)
    assert side == pytest.approx(0.015 / math.sqrt(2))
    assert largest(square_bar, SPACE, turn=0.7) == pytest.approx(side)
    raised = 0.001
    half = largest(square_bar, Space(0.020, 0.002, 0.003, raised=raised)) / 2
    assert half**2 + (half + raised) ** 2 == pytest.approx(0.0075**2)


def test_flats_leave_more_room_but_no_more_bar() -> None:
    """The arcs beside the flats still fill the circle; turned to the front the flat leaves room there."""
    assert largest(flatted_bar, SPACE) == pytest.approx(0.015)
    place = placed(flatted_bar(0.015), SPACE, turn=math.pi / 2)
    assert place is not None
    assert place.gaps.front == pytest.approx(0.002 + 0.0015)
    assert place.gaps.behind == pytest.approx(0.003 + 0.0015)


def test_the_largest_bar_has_the_gaps_asked_for() -> None:
    """Front and back gap of the largest round bar are those of the room, and the least one is the smaller."""
    place = placed(round_bar(0.015), SPACE)
    assert place is not None
    assert (place.gaps.front, place.gaps.behind) == pytest.approx((0.002, 0.003), abs=1e-9)
    assert place.gaps.least == pytest.approx(0.002, abs=1e-9)
    assert place.y == pytest.approx(0.0005, abs=1e-9)


def test_a_smaller_bar_goes_to_the_front() -> None:
    """The cutter sticks out as far; what is saved is room behind."""
    place = placed(round_bar(0.012), SPACE)
    assert place is not None
    assert place.gaps.front == pytest.approx(0.002, abs=1e-9)
    assert place.gaps.behind == pytest.approx(0.006, abs=1e-9)


def test_a_bar_that_is_too_large_has_no_place() -> None:
    """One hundredth of a millimetre more does not fit."""
    assert placed(round_bar(0.01501), SPACE) is None


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.2])
@pytest.mark.parametrize(
    "outline",
    [
        Outline(half_width=0.003, half_height=0.005),
        Outline(radius=0.006, half_height=0.004),
        Outline(radius=0.005),
    ],
)
def test_the_farthest_point_by_trying_all(outline: Outline, turn: float) -> None:
    """Against the ring of points: never nearer, and no farther than the ring's spacing allows."""
    for centre in ((0.0, 0.0), (0.002, -0.001), (-0.003, 0.004)):
        tried = float(np.linalg.norm(ring_of(outline, turn) + np.array(centre), axis=1).max())
        exact = farthest(outline, centre, turn=turn)
        # 1440 rays: the circle between two of them rises by a part in 4e5.
        assert tried - 1e-12 <= exact <= tried * (1 + 1e-5)


def test_gaps_of_a_dropped_bar() -> None:
    """Circle of radius r at (0, -h): level with the edge its face is at sqrt(r^2 - h^2)."""
    gaps = gaps_of(round_bar(0.010), (0.0, -0.003), bore=0.020)
    assert gaps.front == pytest.approx(0.010 - 0.004, abs=1e-7)
    assert gaps.behind == pytest.approx(0.010 - 0.004, abs=1e-7)
    assert gaps.least == pytest.approx(0.010 - 0.005 - 0.003)


@pytest.mark.parametrize(
    ("sizes", "key"),
    [
        ((0.0, 0.002, 0.003, 0.0), "bore"),
        ((0.02, 0.0, 0.003, 0.0), "front"),
        ((0.02, 0.002, -0.001, 0.0), "behind"),
        ((0.02, 0.002, 0.019, 0.0), "raised"),
        ((0.02, 0.002, 0.003, 0.008), "raised"),
    ],
)
def test_rooms_that_are_none(sizes: tuple[float, float, float, float], key: str) -> None:
    """Each size out of range is named."""
    with pytest.raises(InputError) as caught:
        Space(*sizes)
    assert caught.value.key == key
