"""What a progress line says of a computation: how far it is, and how long it takes where that is long."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from stickout.fem.study.budget import Ahead

# Who waits longer than this is told how long.
LONG_S: Final = 10.0
# Operations a second until some of the work is done, and the part of it that tells better: a slow computer,
# so that nobody is promised too much (computed here: 1e10 to 5e10).
_RATE: Final = 1.5e10
_TELLING: Final = 0.05


class TimeLeft:
    """The words of a progress line.

    Parameters
    ----------
    clock
        Tells the time [s].
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock, self._start = clock, clock()

    def seconds(self, ahead: Ahead) -> float:
        """Return about how long it still takes [s]."""
        coming = ahead.planned - ahead.done
        if ahead.done < _TELLING * ahead.planned:
            return coming / _RATE
        return coming * (self._clock() - self._start) / ahead.done

    def words(self, ahead: Ahead) -> str:
        """Return what is being done now, and how long it still takes where it is over ten seconds in all."""
        now = f"Solving, finer each time: {ahead.begun}"
        left = self.seconds(ahead)
        if self._clock() - self._start + left <= LONG_S:
            return now
        step = 1 if left < 10 else 5 if left < 60 else 30
        return f"{now}; about {max(1, step * math.ceil(left / step))} s left if this is enough"
