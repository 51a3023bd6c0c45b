"""Assumed numbers as lines: likely, band, unit, and where they are from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from stickout.cli.text.reasons import short_source
from stickout.cli.text.words import THOU_M, band_text, folded
from stickout.fem.study.result import Assumption
from stickout.fem.units import GPA, MM, MM_PER_INCH, N_PER_UM

# SI unit of a number -> how much of it one of the told unit is, and the told unit.
Scales = Mapping[str, tuple[float, str]]
_TOLD: Final[Scales] = {
    "N/m": (N_PER_UM, "N/µm"),
    "N m/rad": (1.0, "N·m/rad"),
    "N/um/mm2": (1.0, "N/µm per mm²"),
    "N/m3": (1e9, "N/mm³"),
}
BAR_SCALES: Final[Scales] = {**_TOLD, "Pa": (GPA, "GPa"), "m": (MM, "mm")}
CUT_SCALES: Final[Scales] = {**_TOLD, "Pa": (1e6, "N/mm²"), "m": (1e-6, "µm")}
_BAND_WIDTH: Final = 28
_KSI: Final = 6.894757e6
_CONVERTED: Final = ("ksi", "thou")


def cut_scales(units: str) -> Scales:
    """Return the scales of a cut's numbers: N/mm² and µm, or ksi and thou."""
    return CUT_SCALES if units == "mm" else {**CUT_SCALES, "Pa": (_KSI, "ksi"), "m": (THOU_M, "thou")}


def bar_scales(units: str) -> Scales:
    """Return the scales of a bar's numbers, lengths in mm or inches."""
    return BAR_SCALES if units == "mm" else {**BAR_SCALES, "m": (MM_PER_INCH * MM, "in")}


def assumed_lines(
    assumptions: Iterable[Assumption],
    *,
    of: str = "",
    scales: Scales = BAR_SCALES,
    name_width: int,
    verbose: bool = False,
) -> Iterator[str]:
    """Yield a heading, then every assumed number with band and source; nothing where none is assumed.

    Parameters
    ----------
    assumptions
        The numbers, SI.
    of
        What they are assumed for, to follow "Assumed".
    scales
        In which units they are told: BAR_SCALES or ``bar_scales``, or CUT_SCALES for the small lengths and
        the pressures of a cut.
    name_width
        Width of the column of names; a longer one loses its bracket.
    verbose
        Whether a source is told whole.
    """
    for number, one in enumerate(assumptions):
        if not number:
            yield f"Assumed{of}, likely (low-high), and from where"
        scale, unit = scales.get(one.unit, (1.0, one.unit))
        # What was converted from metric numbers is known to no more digits than these.
        digits = 3 if unit in _CONVERTED else 4
        band = f"{band_text(one.band, scale=scale, digits=digits)} {unit}".rstrip()
        name = one.name if len(one.name) < name_width else one.name.split(" (")[0]
        source = one.band.source if verbose else short_source(one.band.source)
        yield from folded(f"  {name:<{name_width}}{band:<{_BAND_WIDTH}}{source}", " " * 10)
