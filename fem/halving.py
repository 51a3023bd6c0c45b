"""Where a condition stops holding, by halving an interval."""

from __future__ import annotations

from collections.abc import Callable


def halved(holds: Callable[[float], bool], span: tuple[float, float], *, times: int) -> tuple[float, float]:
    """Return the ends of the last interval: the condition holds at the first, not at the second.

    Parameters
    ----------
    holds
        The condition; it is taken to hold at the lower end, not at the upper one, and to change once.
    span
        The first interval.
    times
        How often it is halved.
    """
    low, high = span
    for _ in range(times):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low, high
