"""A bar hung on threads: its modulus from its note, and whether the callipers agree with its overtone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from stickout.fem.beam.frequencies import bending_frequencies
from stickout.fem.beam.sections import round_section
from stickout.fem.beam.spans import FREE, make_span
from stickout.fem.errors import InputError
from stickout.fem.setup.bands import MEASURED, Band

_POISSON: Final = 0.29
_LENGTH_SD, _DIAMETER_SD, _MASS_SD, _DENSITY_SD = 0.1e-3, 0.02e-3, 1e-3, 0.004
_NINETY: Final = 1.645
_AGREES: Final = 0.01  # of the ratio of overtone and note
_TRIAL: Final = 210e9


@dataclass(frozen=True)
class HungBar:
    """A plain round bar: length and diameter [m], mass [kg] where it was weighed, else density [kg/m3]."""

    length: float
    diameter: float
    mass: float | None = None
    density: float = 7850.0


@dataclass(frozen=True)
class Hung:
    """What a hung bar tells.

    Attributes
    ----------
    modulus
        90 % interval of Young's modulus [Pa].
    density
        Density taken [kg/m3].
    overtone
        Overtone heard over the one that length and diameter give; None where only one note was heard.
    agrees
        Whether the overtone fits length and diameter.
    """

    modulus: Band
    density: float
    overtone: float | None
    agrees: bool


def read_hung(bar: HungBar, notes: tuple[float, ...], *, note_sd: float = 1e-3) -> Hung:
    """Return modulus of a hung bar, and whether its overtone fits its size.

    Parameters
    ----------
    bar
        The bar.
    notes
        Its lowest notes in bending [Hz], one or two.
    note_sd
        Relative standard deviation of a note.

    Raises
    ------
    InputError
        No note, or a size that is not above zero.

    Source
    ------
    Shear-flexible beam with free ends; the air's 1e-4 is left out (computed here). [A.air.*]
    """
    for key, value in (("length", bar.length), ("diameter", bar.diameter), ("notes", len(notes))):
        if not value > 0.0:
            raise InputError(
                key=key, given=value, allowed="above 0", mend="Measure the bar, and tap it while hung."
            )
    area = math.pi * bar.diameter**2 / 4.0
    density = bar.density if bar.mass is None else bar.mass / (area * bar.length)
    first, second = free_notes(bar, density=density, modulus=_TRIAL)
    modulus = _TRIAL * (notes[0] / first) ** 2
    # f^2 goes with E d^2 / (rho L^4), and rho with m / (d^2 L) where the bar was weighed.
    weighed = bar.mass is not None
    parts = (
        2.0 * note_sd,
        (3.0 if weighed else 4.0) * _LENGTH_SD / bar.length,
        (4.0 if weighed else 2.0) * _DIAMETER_SD / bar.diameter,
        _MASS_SD / bar.mass if bar.mass is not None else _DENSITY_SD,
    )
    half = _NINETY * math.hypot(*parts)
    band = Band(modulus * (1 - half), modulus, modulus * (1 + half), f"{MEASURED}: a hung bar tapped")
    overtone = (notes[1] / notes[0]) / (second / first) if len(notes) > 1 else None
    return Hung(band, density, overtone, overtone is None or abs(overtone - 1.0) < _AGREES)


def free_notes(bar: HungBar, *, density: float, modulus: float) -> tuple[float, float]:
    """Return the two lowest notes of a bar with free ends in bending [Hz]."""
    section = round_section(bar.diameter, poisson_ratio=_POISSON)
    span = make_span(bar.length, section, youngs_modulus=modulus, poisson_ratio=_POISSON, density=density)
    *_, first, second = bending_frequencies([span], 4, root=FREE)  # it drifts and turns before it bends
    return float(first), float(second)
