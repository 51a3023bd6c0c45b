"""Assumed numbers as lines: likely, band, unit, and where they are from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from stickout.cli.text.reasons import short_source
from stickout.cli.text.words import band_text, folded
from stickout.fem.study.result import Assumption
from stickout.fem.units import GPA, MM, MM_PER_INCH

_BAND_WIDTH: Final = 26


def assumed_lines(assumptions: Iterable[Assumption], units: str, *, name_width: int) -> Iterator[str]:
    """Yield a heading, then every assumed number with band and source.

    Parameters
    ----------
    assumptions
        The numbers, SI.
    units
        mm or inch, for lengths.
    name_width
        Width of the column of names.
    """
    yield "Assumed, likely (low-high), and from where"
    length = (MM_PER_INCH * MM, "in") if units == "inch" else (MM, "mm")
    scales = {"Pa": (GPA, "GPa"), "m": length}
    for one in assumptions:
        scale, unit = scales.get(one.unit, (1.0, one.unit.replace("N/um/mm2", "N/µm per mm²")))
        band = f"{band_text(one.band, scale=scale)} {unit}".rstrip()
        name = one.name.replace("Young's modulus", "modulus")
        told = f"  {name:<{name_width}}{band:<{_BAND_WIDTH}}{short_source(one.band.source)}"
        yield from folded(told, " " * 10)
