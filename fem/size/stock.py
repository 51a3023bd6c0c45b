"""Sizes that bars are sold in, and what a bar to be made is taken to need when nobody says."""

from __future__ import annotations

from typing import Final

from stickout.fem.setup.bands import Band
from stickout.fem.units import MM_PER_INCH

PRACTICE: Final = "common practice, no source"
# Bright bar as a shop keeps it; the shank sizes among them are those of boring bars and square shanks.
# Source: ISO 286 does not list them; sizes of trade (common practice, no source).
STOCK_MM: Final = (
    *(3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0, 18.0, 20.0, 22.0, 25.0),
    *(28.0, 30.0, 32.0, 35.0, 36.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 75.0, 80.0, 90.0, 100.0),
)
STOCK_INCH: Final = tuple(
    n / 16
    for n in (
        2,
        3,
        4,
        5,
        6,
        7,
        8,
        9,
        10,
        11,
        12,
        13,
        14,
        15,
        16,
        18,
        20,
        22,
        24,
        26,
        28,
        30,
        32,
        36,
        40,
        44,
        48,
        56,
        64,
    )
)
# Shares of the hole, so that a bar of 0.75 of the hole comes out, between 0.7 and 0.8.
CUTTER_SHARE: Final = Band(0.07, 0.10, 0.12, PRACTICE)
CLEARANCE_SHARE: Final = Band(0.10, 0.15, 0.20, PRACTICE)
# What the bar sticks out beyond the depth of the hole [mm], so that the holder stays clear of the work.
ALLOWANCE_MM: Final = Band(3.0, 5.0, 10.0, PRACTICE)
# Gripped length in bar sizes: a trade article asks for three to four diameters (opened).
GRIPPED_SIZES: Final = Band(3.0, 4.0, 5.0, "trade article: three to four diameters at least (opened)")
# Room on each side of a blade in a groove, as a share of the groove.
GROOVE_SHARE: Final = Band(0.03, 0.06, 0.12, PRACTICE)
# Shanks, height and width; the inch ones are common practice, no source.
# Source: ISO 5610 series of shanks (recalled, not opened), [j.iso.shank].
SHANKS_MM: Final = (
    *((8, 8), (10, 10), (12, 12), (16, 16), (20, 20), (25, 25), (32, 32), (40, 40)),
    *((12, 8), (16, 10), (20, 12), (25, 16), (32, 20), (32, 25), (40, 25), (40, 32)),
)
SHANKS_INCH: Final = (
    *((0.25, 0.25), (0.3125, 0.3125), (0.375, 0.375), (0.5, 0.5), (0.625, 0.625), (0.75, 0.75), (1.0, 1.0)),
    *((1.25, 1.25), (1.5, 1.5), (0.5, 0.375), (0.75, 0.5), (1.0, 0.75), (1.25, 0.75), (1.5, 1.0)),
)


def stock_sizes_mm(units: str) -> tuple[float, ...]:
    """Return the sizes that bars are sold in where people use these units [mm], rising."""
    return STOCK_MM if units == "mm" else tuple(one * MM_PER_INCH for one in STOCK_INCH)


def shank_sizes_mm(units: str) -> tuple[tuple[float, float], ...]:
    """Return the shanks that are sold where people use these units: height and width [mm]."""
    scale, table = (1.0, SHANKS_MM) if units == "mm" else (MM_PER_INCH, SHANKS_INCH)
    return tuple((high * scale, wide * scale) for high, wide in table)


def largest_stock_mm(limit_mm: float, units: str) -> float | None:
    """Return the largest size sold that does not exceed a limit [mm]; None below the smallest.

    A size within a hundredth of a per cent of the limit counts as fitting.
    """
    fits = [one for one in stock_sizes_mm(units) if one <= limit_mm * (1 + 1e-4)]
    return fits[-1] if fits else None
