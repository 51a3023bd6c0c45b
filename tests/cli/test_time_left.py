"""What a progress line says of how long it still takes, by a clock that the test sets."""

from __future__ import annotations

from stickout.cli.time_left import TimeLeft
from stickout.fem.study.budget import Ahead


class Clock:
    """A clock that stands still unless it is moved."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        """Return the time [s]."""
        return self.now


def test_a_quick_setup_says_nothing_of_time() -> None:
    """Two seconds of work by the rule of thumb, and as much again that turns out to take four."""
    clock = Clock()
    left = TimeLeft(clock)
    assert left.words(Ahead(1, 0.0, 3e10)) == "Solving, finer each time: 1"
    clock.now += 4
    assert left.words(Ahead(2, 3e10, 6e10)) == "Solving, finer each time: 2"


def test_a_slow_setup_says_before_it_begins_how_long_it_takes() -> None:
    """A hundred seconds of work at the rule of thumb's speed, to the next half minute."""
    words = TimeLeft(Clock()).words(Ahead(1, 0.0, 1.5e12))
    assert words == "Solving, finer each time: 1; about 120 s left if this is enough"


def test_time_left_follows_the_meshes_that_are_done() -> None:
    """A quarter of the work took five seconds: fifteen are left; three quarters took fifteen: five."""
    clock = Clock()
    left = TimeLeft(clock)
    clock.now += 5
    assert left.words(Ahead(2, 1e10, 4e10)).endswith("; about 15 s left if this is enough")
    clock.now += 10
    assert left.words(Ahead(3, 3e10, 4e10)).endswith("; about 5 s left if this is enough")


def test_what_took_long_already_goes_on_to_be_told() -> None:
    """Eleven seconds gone, a second left."""
    clock = Clock()
    left = TimeLeft(clock)
    clock.now += 11
    assert left.words(Ahead(5, 1.1e11, 1.2e11)).endswith("; about 1 s left if this is enough")
