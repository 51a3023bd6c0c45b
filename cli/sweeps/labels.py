"""Columns and keys in plain words, and their numbers in the units of the set-up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stickout.cli.sweeps.values import Axis
from stickout.cli.text.words import plain
from stickout.fem.setup.keys import Kind
from stickout.fem.sweep.case_row import OVERHANG_OVER_SIZE
from stickout.fem.units import MM_PER_INCH, N_PER_LBF

SPRING: Final = "spring_um_per_10n"
NOTE: Final = "note_hz"
MARGIN: Final = "margin"
DEPTH: Final = "depth_limit_mm"
STATUS: Final = "status"
# Likely value -> low and high of its band.
BANDS: Final = {
    SPRING: ("spring_low_um_per_10n", "spring_high_um_per_10n"),
    NOTE: ("note_low_hz", "note_high_hz"),
    MARGIN: ("margin_low", "margin_high"),
    DEPTH: ("depth_limit_low_mm", "depth_limit_high_mm"),
    "loss_factor": ("loss_factor_low", "loss_factor_high"),
}
_WORDS: Final = {
    SPRING: ("spring under 10 N", "µm"),
    NOTE: ("note along the force", "Hz"),
    MARGIN: ("margin, 1 is the limit", ""),
    DEPTH: ("depth limit", "mm"),
    "chatter_hz": ("note of the chatter", "Hz"),
    "stiffness_n_per_um": ("stiffness along the force", "N/µm"),
    "loss_factor": ("loss factor", ""),
    OVERHANG_OVER_SIZE: ("overhang over size", ""),
}
_INCH: Final = {
    "µm": (1 / MM_PER_INCH, "thou"),
    "mm": (1 / MM_PER_INCH, "in"),
    "N/µm": (MM_PER_INCH / N_PER_LBF, "lbf/thou"),
}
# A table's spring is that under 10 N in any set-up; inches are told what 10 lbf do.
_SPRING_INCH: Final = ("spring under 10 lbf", "thou", N_PER_LBF / MM_PER_INCH)
_ENDINGS: Final = (
    ("_n_per_um_mm2", "N/µm per mm²"),
    ("_kg_m3", "kg/m³"),
    ("_gpa", "GPa"),
    ("_rpm", "rpm"),
    ("_deg", "°"),
    ("_um", "µm"),
    ("_hz", "Hz"),
    ("_g", "g"),
)


@dataclass(frozen=True)
class Label:
    """What a number is called, its unit, and the factor from the table's number to that unit."""

    words: str
    unit: str
    scale: float = 1.0

    @property
    def text(self) -> str:
        """Return the label of an axis: "spring under 10 N, µm"."""
        return ", ".join(filter(None, [self.words, self.unit]))

    def value(self, number: float, digits: int = 3) -> str:
        """Return a number of the table with its unit: "3.7 µm"."""
        unit = self.unit if self.unit in ("", "°") else f" {self.unit}"
        return f"{plain(number * self.scale, digits)}{unit}"


def column_label(column: str, units: str) -> Label:
    """Return the label of a column, lengths in the units of the set-up."""
    if units == "inch" and column in (SPRING, *BANDS[SPRING]):
        return Label(*_SPRING_INCH)
    words, unit = _WORDS.get(column) or _split(column)
    scale, unit = _INCH.get(unit, (1.0, unit)) if units == "inch" else (1.0, unit)
    return Label(words, unit, scale)


def key_label(axis: Axis, units: str) -> Label:
    """Return the label of a varied key."""
    words, unit = _split(axis.key.replace('"', ""))
    words = words.replace(".", " ")
    if axis.kind is Kind.LENGTH:
        unit = "in" if units == "inch" else "mm"
    return Label(words, unit)


def _split(name: str) -> tuple[str, str]:
    """Return the words and the unit of a name that wears its unit."""
    for ending, unit in _ENDINGS:
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " "), unit
    return name.replace("_", " "), ""
