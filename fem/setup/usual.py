"""Usual sizes of a holder's screws, grip and block, by the size of the shank, until somebody measures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

SOURCE: Final = "common practice, no source"


@dataclass(frozen=True)
class UsualScrews:
    """Screws of a tool post on a shank; lengths in mm as the names say."""

    screws: int
    screw_diameter_mm: float
    first_screw_mm: float
    screw_spacing_mm: float
    gripped_mm: float


# Up to this height of shank [mm]: screw, first screw, spacing, gripped length [mm] of the post it goes into.
_POSTS: Final = (
    (12.0, (8.0, 12.0, 25.0, 60.0)),
    (16.0, (10.0, 15.0, 30.0, 75.0)),
    (25.0, (12.0, 18.0, 36.0, 90.0)),
    (100.0, (16.0, 22.0, 45.0, 120.0)),
)
SLEEVE_GRIP: Final = 3.0  # diameters of bar inside a sleeve or a block
SLEEVE_BLOCK: Final = 2.5  # width and height of the block over the bar's diameter
FLAT: Final = 0.85  # across the flats over the diameter of a bar that screws press on


def usual_screws(height_mm: float, flat_mm: float, *, screws: int = 2) -> UsualScrews:
    """Return the usual screws of a tool post.

    Parameters
    ----------
    height_mm
        Height of the shank, which chooses the size of post [mm].
    flat_mm
        Width of the flat that the screws press on; no screw is wider [mm].
    screws
        How many press on the shank.

    Returns
    -------
    UsualScrews
        Their sizes and places [mm].

    Source
    ------
    Common practice, no source.
    """
    post = next((sizes for most, sizes in _POSTS if height_mm <= most), _POSTS[-1][1])
    screw, first, spacing, gripped = post
    return UsualScrews(screws, min(screw, flat_mm), first, spacing, gripped)
