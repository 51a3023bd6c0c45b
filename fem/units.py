"""Units at the edges: lengths as people write them in, and as they read them out.

Inside the program everything is SI; a set-up is read in millimetres or inches, and a length given as
text carries its own unit. Nothing is guessed: what is not understood is refused with a reason.
"""

from __future__ import annotations

import math
import re
from typing import Final

from stickout.fem.errors import InputError

UNITS: Final = ("mm", "inch")
MM: Final = 1e-3  # metres in a millimetre
UM: Final = 1e-6  # metres in a micrometre
GPA: Final = 1e9  # pascals in a gigapascal
N_PER_UM: Final = 1e6  # newtons per metre in a newton per micrometre
N_PER_UM_MM2: Final = 1e12  # newtons per metre and square metre in a newton per micrometre and mm2
GRAVITY: Final = 9.80665  # m/s2, standard (recalled, not opened)
FOOT: Final = 0.3048  # m: the international foot is defined so
N_PER_LBF: Final = 4.4482216152605  # 0.45359237 kg at standard gravity (recalled, not opened)
MM_PER_INCH: Final = 25.4  # exact by definition (international yard, 1959; recalled, not opened)

_MM_IN: Final = {
    "mm": 1.0,
    "um": 1e-3,
    "µm": 1e-3,
    "μm": 1e-3,  # the Greek letter; keyboards give the micro sign above
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "thou": MM_PER_INCH / 1000,
    "cm": 10.0,
    '"': MM_PER_INCH,
    "\u2033": MM_PER_INCH,
}
_LENGTH_TEXT: Final = re.compile(
    r"""\s*(?:[\u00f8\u00d8\u2300]\s*)?(?P<sign>[+-]?)
        (?: (?:(?P<whole>\d+)(?:\s+|\s*-\s*))? (?P<top>\d+)\s*/\s*(?P<bottom>\d+)   # 3/8, 1 3/8, 1-3/8
          | (?P<number>\d+\.?\d*|\.\d+) )                               # 80, 0.5, .5
        \s*(?P<unit>[^\s\d.,/]+)\s*""",
    re.VERBOSE | re.ASCII,
)
_DECIMAL_COMMA: Final = re.compile(r"\d\s*,\s*\d|^\s*[+-]?,\d", re.ASCII)
_ALLOWED: Final = 'a length with its unit, such as "80 mm", "3/8 in", "5 thou" or "20 um"'


def has_decimal_comma(text: str) -> bool:
    """Return whether a text holds a number written with a comma, such as "0,5"."""
    return _DECIMAL_COMMA.search(text) is not None


def parse_length_mm(text: str, *, key: str) -> float:
    """Return the length that a text states, in millimetres.

    Parameters
    ----------
    text
        A number or a fraction followed by mm, in, inch, thou or um: "80 mm", "1 3/8 in", "1-3/8 in".
    key
        Name of the value, for the error.

    Returns
    -------
    float
        Length [mm]; its sign is kept, so that the range check can speak of it.

    Raises
    ------
    InputError
        A decimal comma, no unit, a unit not listed, a fraction over zero, or no number at all.
    """
    if has_decimal_comma(text):
        raise InputError(
            key=key,
            given=text,
            allowed="a length with a decimal point",
            mend=f'A decimal comma is not read; write "{text.strip().replace(",", ".", 1)}".',
        )
    found = _LENGTH_TEXT.fullmatch(text)
    if found is None or found["unit"] not in _MM_IN:
        raise InputError(key=key, given=text, allowed=_ALLOWED, mend=_length_mend(text))
    value = _fraction(found, key=key) if found["top"] else float(found["number"])
    return (-1.0 if found["sign"] == "-" else 1.0) * value * _MM_IN[found["unit"]]


def _fraction(found: re.Match[str], *, key: str) -> float:
    """Return the value of "3/8" or "1 3/8"."""
    bottom = int(found["bottom"])
    if bottom == 0:
        raise InputError(
            key=key, given=found.string, allowed=_ALLOWED, mend="A fraction over zero has no value."
        )
    return int(found["whole"] or 0) + int(found["top"]) / bottom


def _length_mend(text: str) -> str:
    """Return the advice for a text that is no length."""
    try:
        float(text)
    except ValueError:
        return "The units known are mm, cm, in (or inch), thou and um."
    return "Add the unit inside the quotes, or leave the quotes out to use the file's own units."


def mm_from_bare(value: float, units: str) -> float:
    """Return a bare number of a set-up file [its ``units``] in millimetres."""
    return value * _MM_IN[units]


def length_text(length_mm: float, units: str) -> str:
    """Return a length as a reader of ``units`` writes it: "16 mm" or "0.63 in" (five digits kept)."""
    if units == "inch":
        return f"{length_mm / MM_PER_INCH:.5g} in"
    return f"{length_mm:.5g} mm"


def small_length_text(length_m: float, units: str, *, digits: int = 2) -> str:
    """Return a length far below a millimetre in µm, or in thou where the set-up is in inches.

    Parameters
    ----------
    length_m
        Length [m].
    units
        "mm" or "inch".
    digits
        Significant digits to keep, 1 or more.
    """
    if units == "inch":
        return f"{rounded(length_m / MM / MM_PER_INCH * 1000, digits)} thou"
    return f"{rounded(length_m / UM, digits)} µm"


def rounded(value: float, digits: int) -> str:
    """Return a number with that many significant digits and no power of ten.

    >>> rounded(1234.5, 2), rounded(0.01287, 2), rounded(0.0, 2), rounded(0.9996, 3)
    ('1200', '0.013', '0', '1.00')
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:.0f}"
    kept = float(f"{value:.{digits - 1}e}")  # first, since rounding may bring one digit more before the point
    places = digits - 1 - math.floor(math.log10(abs(kept)))
    return f"{kept:.{max(places, 0)}f}"


def cut_down(value: float, digits: int) -> float:
    """Return a number above zero cut down to some significant digits: what holds below it holds there too.

    Parameters
    ----------
    value
        The number.
    digits
        Significant digits to keep, 1 or more.
    """
    step = 10.0 ** (math.floor(math.log10(value)) + 1 - digits)
    return math.floor(value / step + 1e-9) * step
