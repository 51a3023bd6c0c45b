"""Say which values of a set-up were taken as usual, in one sentence."""

from __future__ import annotations

from collections.abc import Sequence

from stickout.fem.setup.usual import Usual
from stickout.fem.units import length_text


def usual_note(usual: Sequence[Usual], units: str) -> str:
    """Return the sentence that names every value taken as usual, lengths in the units of the file."""
    told = ", ".join(f"{one.key} {_told(one, units)}" for one in usual)
    return f"Not given and taken as usual: {told}. Their bands count; measure what you can and write it in."


def _told(one: Usual, units: str) -> str:
    """Return the likely value with its unit."""
    if one.unit == "mm":
        return length_text(one.band.likely, units)
    return f"{one.band.likely:g}" + ("°" if one.unit == "deg" else "")
