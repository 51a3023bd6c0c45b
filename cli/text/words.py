"""The small words of every answer: numbers, notes, directions, shares, as a person at the lathe says them.

Left and right are as seen from the free end, looking at the end face: right is +y, up is +z.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Sequence
from typing import Final

from stickout.fem.setup.bands import Band
from stickout.fem.units import MM, N_PER_LBF, N_PER_UM, length_text, rounded, small_length_text
from stickout.meshes.parts import Bar, Hold, Step

WIDTH: Final = 100
_METRIC_LOAD_N: Final = 10.0  # the weight of about one kilogram: what a hand or a spring scale gives
INCH_M: Final = 25.4e-3
THOU_M: Final = INCH_M / 1000
KSI: Final = 6.894757e6  # Pa in a thousand pounds-force per square inch
_NOTES: Final = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_LAST_KEY: Final = 96  # C8, in half tones above C0
_STRAIGHT_DEG: Final = 3.0  # closer than this to upright or level is called so
_ENDWISE: Final = (0.2, 0.9)  # share of the motion along the bar: said beside the angle, said alone


def note_name(frequency_hz: float) -> str:
    """Return the musical note nearest to a frequency, A4 at 440 Hz: 1760 Hz is "A6".

    Source
    ------
    Equal temperament, ISO 16 (recalled, not opened); octaves count from C.
    """
    steps = round(12 * math.log2(frequency_hz / 440.0)) + 57  # half tones above C0
    return f"{_NOTES[steps % 12]}{steps // 12}" + (" (above the piano)" if steps > _LAST_KEY else "")


def hertz(frequency_hz: float) -> str:
    """Return a frequency to three digits: "740 Hz", "1.26 kHz"."""
    if float(f"{frequency_hz:.3g}") < 1000:
        return f"{rounded(frequency_hz, 3)} Hz"
    return f"{rounded(frequency_hz / 1000, 3)} kHz"


def with_error(value: float, relative: float) -> str:
    """Return a value with its error, no digit more than the error allows: "1257.5 ±0.3"."""
    error = abs(value) * relative
    if error == 0:
        return f"{value:.1f}"
    places = min(max(0, -math.floor(math.log10(error))), 1)
    return f"{value:.{places}f} ±{max(error, 10.0**-places):.{places}f}"


def screw_count(hold: Hold) -> str:
    """Return how many screws press on the bar, in words: "2 screws"."""
    return f"{len(hold.screws_mm)} screw{'s' if len(hold.screws_mm) > 1 else ''}"


def plain(value: float, digits: int = 2) -> str:
    """Return a number to some digits, without a power of ten and without idle zeros: "0.00002"."""
    text = rounded(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def margin_figure(margin: float, digits: int = 2) -> str:
    """Return a margin with two digits, or so many that the side of one that it lies on shows: "0.996"."""
    if not math.isfinite(margin):
        return "any"
    enough = next((d for d in range(digits, 6) if (float(rounded(margin, d)) < 1) == (margin < 1)), 6)
    return rounded(margin, enough)


def percent(share: float) -> str:
    """Return a share as "96 %"; a little is not called nothing."""
    return "below 1 %" if 0.001 <= share < 0.01 else f"{100 * share:.0f} %"


def change(ratio: float) -> str:
    """Return a relative difference with its sign: "+0.3 %", "-17 %"."""
    value = 100 * ratio
    return f"{value:+.1f} %" if abs(value) < 10 else f"{value:+.0f} %"


def more_or_less(ratio: float, *, less: str, more: str) -> str:
    """Return new over old as "15 % less" in the words given."""
    return f"{100 * abs(ratio - 1):.0f} % {less if ratio < 1 else more}"


def load_n(units: str) -> float:
    """Return the load that springs are told under [N]: 10 N, or 10 lbf where the set-up is in inches."""
    return 10 * N_PER_LBF if units == "inch" else _METRIC_LOAD_N


def load_name(units: str) -> str:
    """Return that load: "10 N" or "10 lbf"."""
    return "10 lbf" if units == "inch" else "10 N"


def load_words(units: str) -> str:
    """Return that load with what it feels like."""
    return "10 lbf" if units == "inch" else "10 N (about 1 kg hung on it)"


def spring_text(spring: float, units: str, *, digits: int = 2) -> str:
    """Return how far the edge springs under ``load_n``: "4.1 µm" or "0.16 thou"; ``spring`` in m/N."""
    return small_length_text(spring * load_n(units), units, digits=digits)


def force_size(force_n: float, units: str, *, digits: int = 2) -> str:
    """Return a force in the units of the set-up: "37 N", "8.4 lbf"."""
    size, unit = (force_n / N_PER_LBF, "lbf") if units == "inch" else (force_n, "N")
    return f"{rounded(size, digits)} {unit}"


def stiffness_unit(units: str) -> tuple[float, str]:
    """Return the unit that stiffness is told in [N/m], and its name: N/µm, or lbf per thou in inches."""
    return (N_PER_LBF / THOU_M, "lbf/thou") if units == "inch" else (N_PER_UM, "N/µm")


def stiffness_text(stiffness: float, units: str, *, digits: int = 3) -> str:
    """Return a stiffness given in N/m as "2.59 N/µm", or "14.8 lbf/thou" where the set-up is in inches."""
    size, name = stiffness_unit(units)
    return f"{rounded(stiffness / size, digits)} {name}"


def pressure_text(pressure: float, units: str, *, digits: int = 2) -> str:
    """Return a force per area given in Pa as "1900 N/mm²" or "280 ksi"."""
    size, name = (KSI, "ksi") if units == "inch" else (1e6, "N/mm²")
    return f"{rounded(pressure / size, digits)} {name}"


def area_text(area: float, units: str) -> str:
    """Return a chip's area given in m² as "0.013 mm²", or in square thou."""
    size, name = (THOU_M**2, "square thou") if units == "inch" else (MM**2, "mm²")
    return f"{plain(area / size)} {name}"


def way_words(direction: Sequence[float], *, kind: str = "bending") -> str:
    """Return which way the edge moves, short enough for a table.

    Parameters
    ----------
    direction
        Unit motion at the edge, shape (3,); all zero where the edge stands still.
    kind
        Kind of the mode; a twisting bar is said to twist, however the edge rides on it.
    """
    x, y, z = direction
    if kind == "torsion":
        return "twisting" if x or y or z else "twisting, edge still"
    if not (x or y or z):
        return "edge stands still"
    if abs(x) > _ENDWISE[1]:
        return "along the bar"
    return _across_words(y, z) + (" and endwise" if abs(x) > _ENDWISE[0] else "")


def _across_words(y: float, z: float) -> str:
    """Return the direction in the plane across the bar."""
    lean = math.degrees(math.atan2(y, z)) if z >= 0 else math.degrees(math.atan2(-y, -z))
    if abs(lean) < _STRAIGHT_DEG:
        return "up and down"
    if abs(lean) > 90 - _STRAIGHT_DEG:
        return "sideways"
    return f"{abs(lean):.0f}° {'right' if lean > 0 else 'left'} of upright"


def moving_words(direction: Sequence[float], *, kind: str) -> str:
    """Return ``way_words`` for a sentence that goes on after "it moves"."""
    way = way_words(direction, kind=kind)
    if way.startswith("edge"):
        return "with the edge standing still"
    return f"at an angle, {way} (seen from the free end)," if "°" in way else way


def along_words(share: float, *, force: str = "the cutting force") -> str:
    """Return whether a motion lies along the force; ``share`` is (e.u)^2 of its direction."""
    if share >= 0.75:
        return f"along {force} ({percent(share)} of the motion)"
    if share >= 0.25:
        return f"partly along {force} ({percent(share)} of the motion)"
    return f"mostly across {force} ({percent(share)} of the motion lies along it)"


def force_words(direction: Sequence[float]) -> str:
    """Return a unit direction as its parts, largest first: "down 0.93, left 0.29, back 0.21"."""
    names = (("out", "back"), ("right", "left"), ("up", "down"))
    parts = [(abs(d), names[at][int(d < 0)]) for at, d in enumerate(direction) if abs(d) >= 0.005]
    return ", ".join(f"{name} {size:.2f}" for size, name in sorted(parts, reverse=True))


def band_text(band: Band, *, scale: float = 1.0, digits: int = 4) -> str:
    """Return "210 (200-212)", or the bare number of a band without width; values are divided by ``scale``."""
    likely, low, high = (plain(one / scale, digits) for one in (band.likely, band.low, band.high))
    return likely if low == high else f"{likely} ({low}-{high})"


def listed(words: Sequence[str]) -> str:
    """Return "a, b and c"."""
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]])) if words else ""


def size_words(part: Bar | Step, units: str) -> str:
    """Return the sizes across a bar or a step: "16 mm", "12 x 20 mm", "20 mm with a 12 mm bore"."""
    width, height = part.width_mm, part.height_mm
    outer = part.diameter_mm or width or height or 0.0
    if not outer and part.bore_mm:  # a step of the bore alone
        return f"{length_text(part.bore_mm, units)} bore"
    text = length_text(outer, units)
    if width and height:
        text = f"{length_text(width, units).split()[0]} x {length_text(height, units)}"
    if part.bore_mm:
        text += f" with a {length_text(part.bore_mm, units)} bore"
    if part.across_flats_mm:
        text += f", {length_text(part.across_flats_mm, units)} across flats"
    return text


def folded(text: str, indent: str = "") -> list[str]:
    """Return a text as lines no wider than ``WIDTH``, further lines indented; a unit stays by its number."""
    kept = re.sub(r"(?<=\d) (?=(%|[kM]?Hz|mm|µm|in|thou|N|N/µm|lbf|lbf/thou|GPa)(\W|$))", "\0", text)
    lines = textwrap.wrap(kept, WIDTH, subsequent_indent=indent, break_on_hyphens=False)
    return [line.replace("\0", " ") for line in lines]
