"""Low, likely and high as plain data, and numbers without a limit: one way for every result."""

from __future__ import annotations

import math
from typing import Protocol


class ThreeNumbers(Protocol):
    """What is told as low, likely and high: a band, a spread, a chance."""

    @property
    def low(self) -> float:
        """Return the low end."""

    @property
    def likely(self) -> float:
        """Return the likely value."""

    @property
    def high(self) -> float:
        """Return the high end."""


def band_record(band: ThreeNumbers, *, scale: float = 1.0) -> dict[str, float | None]:
    """Return low, likely and high; null where there is no limit.

    Parameters
    ----------
    band
        The band.
    scale
        What its numbers are multiplied by to come out in the unit that the record tells.
    """
    ends = {"low": band.low, "likely": band.likely, "high": band.high}
    return {name: finite(end * scale) for name, end in ends.items()}


def finite(value: float) -> float | None:
    """Return a number; None, null in a file, where it is infinite or not a number."""
    return value if math.isfinite(value) else None
