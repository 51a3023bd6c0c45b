"""Assumed numbers as lines: likely, band, unit, and where they are from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from stickout.cli.text.reasons import short_source
from stickout.cli.text.words import INCH_M, KSI, THOU_M, band_text, folded
from stickout.fem.study.result import Assumption
from stickout.fem.units import GPA, MM, N_PER_LBF, N_PER_UM, N_PER_UM_MM2

# SI unit of a number -> how much of it one of the told unit is, and the told unit.
Scales = Mapping[str, tuple[float, str]]
_TOLD: Final[Scales] = {
    "N/m": (N_PER_UM, "N/µm"),
    "N m/rad": (1.0, "N·m/rad"),
    "N/um/mm2": (1.0, "N/µm per mm²"),
    "N/m3": (1e9, "N/mm³"),
}
# The same in inches; a force per area and length is told per thou and square inch.
_TOLD_INCH: Final[Scales] = {
    "N/m": (N_PER_LBF / THOU_M, "lbf/thou"),
    "N m/rad": (N_PER_LBF * INCH_M, "lbf·in/rad"),
    "N/um/mm2": (N_PER_LBF / THOU_M / INCH_M**2 / N_PER_UM_MM2, "lbf/thou per sq in"),
    "N/m3": (N_PER_LBF / INCH_M**3, "lbf/in³"),
    "kg": (0.45359237, "lb"),
    "kg/m3": (0.45359237 / INCH_M**3, "lb/in³"),
}
BAR_SCALES: Final[Scales] = {**_TOLD, "Pa": (GPA, "GPa"), "m": (MM, "mm")}
CUT_SCALES: Final[Scales] = {**_TOLD, "Pa": (1e6, "N/mm²"), "m": (1e-6, "µm")}
_BAND_WIDTH: Final = 28
_CONVERTED: Final = ("ksi", "thou", "lb", *(unit for _, unit in _TOLD_INCH.values()))
# Where a name is longer told than a person says it.
_SAID: Final = {"cutting force per area at 1 mm chip": "specific cutting force kc1.1"}


def cut_scales(units: str) -> Scales:
    """Return the scales of a cut's numbers: N/mm² and µm, or ksi and thou."""
    return CUT_SCALES if units == "mm" else {**_TOLD_INCH, "Pa": (KSI, "ksi"), "m": (THOU_M, "thou")}


def bar_scales(units: str) -> Scales:
    """Return the scales of a bar's numbers, lengths in mm or inches; a metal's own stay as in tables."""
    return BAR_SCALES if units == "mm" else {**_TOLD_INCH, "Pa": (GPA, "GPa"), "m": (INCH_M, "in")}


def said_name(name: str) -> str:
    """Return what a number is called on screen and paper; the result file keeps its own name."""
    return _SAID.get(name, name)


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
        name = said_name(one.name)
        name = name if len(name) < name_width else name.split(" (")[0]
        source = one.band.source if verbose else short_source(one.band.source)
        yield from folded(f"  {name:<{name_width}}{band:<{_BAND_WIDTH}}{source}", " " * 10)
