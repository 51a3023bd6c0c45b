"""Low, likely and high as plain data: one way for every result."""

from __future__ import annotations

import math

from stickout.fem.setup.bands import Band, Spread


def band_record(band: Band | Spread, *, scale: float = 1.0) -> dict[str, float | None]:
    """Return low, likely and high; null where there is no limit.

    Parameters
    ----------
    band
        The band.
    scale
        What its numbers are multiplied by to come out in the unit that the record tells.
    """
    ends = {"low": band.low, "likely": band.likely, "high": band.high}
    return {name: end * scale if math.isfinite(end) else None for name, end in ends.items()}
