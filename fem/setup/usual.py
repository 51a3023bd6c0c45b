"""Usual sizes of screws, grip and block by the size of the shank, and of an edge, until measured."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from stickout.fem.setup.bands import Band
from stickout.fem.units import MM_PER_INCH

SOURCE: Final = "common practice, no source"


@dataclass(frozen=True)
class UsualScrews:
    """Screws of a tool post on a shank; lengths in mm as the names say."""

    screws: int
    screw_diameter_mm: float
    first_screw_mm: float
    screw_spacing_mm: float
    gripped_mm: float


@dataclass(frozen=True)
class Usual:
    """One value of a set-up that its file does not give and that was taken as usual.

    Attributes
    ----------
    key
        Its dotted key in the file.
    band
        Low, likely and high; lengths in mm, else as the file writes the key.
    unit
        mm, deg, or nothing.
    """

    key: str
    band: Band
    unit: str = ""


# Up to this height of shank [mm]: screw, first screw, spacing, gripped length [mm] of the post it goes into.
_POSTS: Final = (
    (12.0, (8.0, 12.0, 25.0, 60.0)),
    (16.0, (10.0, 15.0, 30.0, 75.0)),
    (25.0, (12.0, 18.0, 36.0, 90.0)),
    (100.0, (16.0, 22.0, 45.0, 120.0)),
)
# The same in inches: what is made there, not the millimetres turned over.
_POSTS_INCH: Final = (
    (0.5, (0.3125, 0.5, 1.0, 2.375)),
    (0.625, (0.375, 0.625, 1.125, 3.0)),
    (1.0, (0.5, 0.75, 1.375, 3.5)),
    (4.0, (0.625, 0.875, 1.75, 4.75)),
)
_TOUCH: Final = 1.0001  # a shank as high as a limit counts as below it
SCREWS: Final = 2
SLEEVE_GRIP: Final = 3.0  # diameters of bar inside a sleeve or a block
SLEEVE_BLOCK: Final = 2.5  # width and height of the block over the bar's diameter
FLAT: Final = 0.85  # across the flats over the diameter of a bar that screws press on
EDGE_ANGLE_DEG: Final = 90.0
BLADE_NOSE_MM: Final = 0.1  # rounding of a ground parting edge: 4 thou where the set-up is in inches
NOSES_MM: Final = (0.4, 0.8, 1.2, 1.6, 2.4)  # the first that the feed allows
NOSES_64THS: Final = (1, 2, 3, 4, 6)  # the same inserts in 64ths of an inch
# How far the value of each key may lie from the usual one, as factors; the edge angle in degrees either way.
_SPREADS: Final = {
    "bar.gripped": (0.6, 1.5),
    "grip.screws": (0.5, 2.0),
    "grip.screw_diameter": (0.75, 1.25),
    "grip.first_screw": (0.6, 1.5),
    "grip.screw_spacing": (0.7, 1.5),
    "grip.block_width": (0.7, 1.6),
    "grip.block_height": (0.7, 1.6),
    "grip.wall": (0.5, 2.0),
    "cut.nose_radius": (0.5, 2.0),
    "cut.edge_angle_deg": (0.83, 1.06),
}

# Keys that a set-up's reader takes as usual where its file does not give them.
TAKEN_AS_USUAL: Final = frozenset(_SPREADS)


def usual_screws(height_mm: float, flat_mm: float, *, screws: int = SCREWS, units: str = "mm") -> UsualScrews:
    """Return the usual screws of a tool post.

    Parameters
    ----------
    height_mm
        Height of the shank, which chooses the size of post [mm].
    flat_mm
        Width of the flat that the screws press on; no screw is wider [mm].
    screws
        How many press on the shank.
    units
        Of the set-up: ``mm``, or ``inch`` for sizes in sixteenths of one.

    Returns
    -------
    UsualScrews
        Their sizes and places [mm].

    Source
    ------
    Common practice, no source.
    """
    posts, one = (_POSTS_INCH, MM_PER_INCH) if units == "inch" else (_POSTS, 1.0)
    post = next((sizes for most, sizes in posts if height_mm <= most * one * _TOUCH), posts[-1][1])
    screw, first, spacing, gripped = (size * one for size in post)
    step = MM_PER_INCH / 64 if units == "inch" else 0.1
    tidy = flat_mm - flat_mm % step if flat_mm > 1 else flat_mm  # a size that callipers could show
    return UsualScrews(screws, min(screw, tidy), first, spacing, gripped)


def usual_nose_mm(operation: str, feed_mm: float, *, most_mm: float, units: str = "mm") -> float:
    """Return the usual nose radius of an operation: large enough for the feed, no larger than the tool [mm].

    Parameters
    ----------
    operation
        parting has a ground edge; every other one an insert.
    feed_mm
        Feed a turn [mm].
    most_mm
        The largest that the tool can have [mm]; NaN where it is not known.
    units
        Of the set-up: inserts of ``inch`` have noses in 64ths of one.

    Source
    ------
    Radii of ISO 1832 inserts (recalled, not opened); which one is usual: common practice, no source.
    """
    noses: tuple[float, ...] = NOSES_MM
    ground = BLADE_NOSE_MM
    if units == "inch":
        noses, ground = tuple(one / 64 * MM_PER_INCH for one in NOSES_64THS), 0.004 * MM_PER_INCH
    noses = (ground, *noses) if operation == "parting" else noses
    nose = next((one for one in noses if feed_mm < 2 * one), noses[-1])
    return min(nose, most_mm) if math.isfinite(most_mm) and most_mm > 0 else nose


def usual_value(key: str, likely: float, *, least: float = 0.0, most: float = math.inf) -> Usual:
    """Return the usual value of a key of the set-up file, with its band; lengths in mm, angles in degrees.

    ``least`` and ``most`` are what can be at all: the band ends there.
    """
    low, high = (factor * likely for factor in _SPREADS[key])
    unit = "" if key == "grip.screws" else "deg" if key.endswith("_deg") else "mm"
    return Usual(key, Band(min(max(low, least), likely), likely, max(min(high, most), likely), SOURCE), unit)
