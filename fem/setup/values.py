"""One value of the set-up file: checked for its kind, lengths turned into millimetres."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.check_bar import SIZES
from stickout.fem.setup.check_common import MOST_MM
from stickout.fem.setup.keys import Kind
from stickout.fem.units import has_decimal_comma, mm_from_bare, parse_length_mm

# What stands in for a value that was refused, so that the rest can still be checked.
STAND_INS: Final[Mapping[Kind, Any]] = {
    Kind.LENGTH: math.nan,
    Kind.NUMBER: math.nan,
    Kind.COUNT: math.nan,
    Kind.TEXT: "",
    Kind.YES_NO: False,
    Kind.TWO_LENGTHS: (math.nan, math.nan),
    Kind.LENGTHS: (math.nan,),
    Kind.NUMBERS: (math.nan, math.nan, math.nan),
    Kind.ONE_OR_THREE: (math.nan, math.nan, math.nan),
    Kind.TABLES: (),
}
LEAST_MM: Final = 1e-6  # a nanometre: nothing on a lathe is measured finer
# Sizes of numbers that can be worked with: what lies beyond overflows somewhere, and nothing real does.
LEAST, MOST = 1e-15, 1e15
MOST_LETTERS: Final = 200  # of a title or a name
_BARE: Final = re.compile(r"\s*[+-]?[0-9][0-9./ -]*")
_ON_DIAMETER: Final = re.compile(r"\bdia|ø|⌀", re.IGNORECASE)


def convert(raw: Any, kind: Kind, *, key: str, units: str) -> Any:  # noqa: ANN401 - the kind decides
    """Return one value as its kind wants it: lengths in mm, lists as tuples.

    Raises
    ------
    InputError
        The value is not of that kind.
    """
    return _CONVERTERS[kind](raw, key, units)


def _length(raw: object, key: str, units: str) -> float:
    """Return a length in mm."""
    return _in_reason(_length_mm(raw, key, units), raw, key)


def _in_reason(length_mm: float, raw: object, key: str) -> float:
    """Return a length, checked to be one that things have: zero, or a nanometre to a hundred metres."""
    size = abs(length_mm)
    if size and not LEAST_MM <= size <= MOST_MM:
        allowed = "at most 100 m" if size > MOST_MM else "0, or a nanometre at least"
        raise InputError(key=key, given=raw, allowed=allowed, mend="Check the number and its unit.")
    return length_mm


def _length_mm(raw: object, key: str, units: str) -> float:
    """Return a length in mm, of any size."""
    if not isinstance(raw, str):
        return mm_from_bare(_number(raw, key, units, kind=Kind.LENGTH), units)
    if key == "cut.depth" and _ON_DIAMETER.search(raw):
        mend = "Depth is radial: give half of what comes off the diameter."
        raise InputError(key=key, given=raw, allowed="a radial depth", mend=mend)
    # "1/2" and "2.5" are inches where the file's units are; in mm a number in quotes may be a slip.
    bare = units == "inch" and _BARE.fullmatch(raw) is not None
    return parse_length_mm(f"{raw} in" if bare else raw, key=key)


def _number(raw: object, key: str, _units: str, *, kind: Kind = Kind.NUMBER) -> float:
    """Return a finite number."""
    if isinstance(raw, bool):
        raise _wrong(raw, kind, key, "True and false are no numbers.")
    if isinstance(raw, str):
        comma = has_decimal_comma(raw)
        raise _wrong(
            raw, kind, key, "Write a decimal point: 0.5." if comma else "Write the number without quotes."
        )
    if not isinstance(raw, int | float):
        raise _wrong(raw, kind, key, "Write one plain number.")
    if raw != raw or abs(raw) == math.inf:
        raise _wrong(raw, kind, key, "Write a finite number.")
    if raw and not LEAST <= abs(raw) <= MOST:  # compared as it is: a long whole number is no float
        mend = "A number out of all reason; check its digits."
        raise InputError(key=key, given=raw, allowed="of a size that things have", mend=mend)
    return float(raw)


def _count(raw: object, key: str, units: str) -> int:
    """Return a whole number."""
    value = _number(raw, key, units, kind=Kind.COUNT)
    if not isinstance(raw, int):
        raise _wrong(raw, Kind.COUNT, key, "Write it without a decimal point.")
    return int(value)


def _text(raw: object, key: str, _units: str) -> str:
    """Return a text."""
    if not isinstance(raw, str):
        raise _wrong(raw, Kind.TEXT, key, "Put it in quotes.")
    if not raw.isprintable():
        mend = "Take line breaks and control characters out."
        raise InputError(key=key, given=raw, allowed="text on one line, all of it visible", mend=mend)
    if len(raw) > MOST_LETTERS:
        raise InputError(key=key, given=raw, allowed=f"at most {MOST_LETTERS} letters", mend="Shorten it.")
    return raw


def _yes_no(raw: object, key: str, _units: str) -> bool:
    """Return true or false."""
    if not isinstance(raw, bool):
        raise _wrong(raw, Kind.YES_NO, key, "Write true or false without quotes.")
    return raw


def _two_lengths(raw: object, key: str, units: str) -> tuple[float, float]:
    """Return two lengths in mm."""
    if not isinstance(raw, list) or len(raw) != 2:
        raise _wrong(raw, Kind.TWO_LENGTHS, key, "Write [from, to].")
    start, stop = (_length(one, key, units) for one in raw)
    return start, stop


def _lengths(raw: object, key: str, units: str) -> tuple[float, ...]:
    """Return one or more lengths in mm."""
    if not isinstance(raw, list):
        return (_length(raw, key, units),)
    if not raw:
        raise _wrong(raw, Kind.LENGTHS, key, "Write one place at least.")
    return tuple(_length(one, key, units) for one in raw)


def _numbers(raw: object, key: str, units: str) -> tuple[float, ...]:
    """Return a list of numbers."""
    if not isinstance(raw, list):
        raise _wrong(raw, Kind.NUMBERS, key, "Write [1, 2, 3].")
    return tuple(_number(one, key, units) for one in raw)


def _one_or_three(raw: object, key: str, units: str) -> tuple[float, ...]:
    """Return three numbers: those given, or one for all."""
    if not isinstance(raw, list):
        return (_number(raw, key, units, kind=Kind.ONE_OR_THREE),) * 3
    if len(raw) != 3:
        raise _wrong(raw, Kind.ONE_OR_THREE, key, "Write one number for all, or [along x, along y, along z].")
    return _numbers(raw, key, units)


def _tables(raw: object, key: str, _units: str) -> tuple[Any, ...]:
    """Return a list of tables, unread."""
    if not isinstance(raw, list) or not all(isinstance(one, dict) for one in raw):
        raise _wrong(raw, Kind.TABLES, key, f"Begin each one with [[{key}]].")
    return tuple(raw)


def _wrong(raw: object, kind: Kind, key: str, mend: str) -> InputError:
    """Return the error of a value that is not of its kind."""
    given = Plain(str(raw).lower()) if isinstance(raw, bool) else raw
    return InputError(key=key, given=given, allowed=kind.value, mend=mend)


_CONVERTERS: Final[Mapping[Kind, Callable[[Any, str, str], Any]]] = {
    Kind.LENGTH: _length,
    Kind.NUMBER: _number,
    Kind.COUNT: _count,
    Kind.TEXT: _text,
    Kind.YES_NO: _yes_no,
    Kind.TWO_LENGTHS: _two_lengths,
    Kind.LENGTHS: _lengths,
    Kind.NUMBERS: _numbers,
    Kind.ONE_OR_THREE: _one_or_three,
    Kind.TABLES: _tables,
}

# Lengths of the file that the parts hold as `..._mm`.
LENGTHS: Final = (
    *SIZES,
    *("overhang", "gripped", "start", "length", "cut_at", "at", "end_distance", "offset_y", "offset_z"),
    *("depth", "feed", "nose_radius", "work_diameter", "position", "edge_land"),
    *("jaw_length", "quill_out", "keyway_width", "keyway_depth"),
)


def in_mm(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values under the names that the parts use."""
    return {f"{key}_mm" if key in LENGTHS else key: value for key, value in values.items()}
