"""The values that ``--vary key=...`` gives a key: lists and ranges, counted before any is made.

Exact decimals throughout, so that 0.1 steps give 0.3 and not 0.30000000000000004.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain, hint
from stickout.fem.setup.keys import KEYS, Kind
from stickout.fem.setup.overrides import key_parts
from stickout.fem.units import parse_length_mm

OPTION: Final = "--vary"
_FORM: Final = "of the form key=from:to:step or key=a,b,c"
_EXAMPLE: Final = "For example bar.overhang=40:120:5 or bar.material=steel,carbide."
_MEASURED: Final = (Kind.LENGTH, Kind.NUMBER, Kind.COUNT)
_IN_LISTS: Final = {Kind.NUMBERS: Kind.NUMBER, Kind.TWO_LENGTHS: Kind.LENGTH}
_MOST_DIGITS: Final = 15  # before or behind the point; the reader of set-ups allows as many
_UNIT_DIGITS: Final = 10  # significant digits of a length that carries its own unit


@dataclass(frozen=True)
class Listed:
    """One value, as TOML reads it."""

    text: str
    count: int = 1

    def at(self, _: int) -> str:
        """Return the value's text."""
        return self.text


@dataclass(frozen=True)
class Stepped:
    """From ``start`` on in steps; ``unit`` follows every number."""

    start: Decimal
    step: Decimal
    count: int
    unit: str = ""

    def at(self, n: int) -> str:
        """Return the text of the value at a position from 0."""
        return _text(self.start + n * self.step, self.unit)


@dataclass(frozen=True)
class Between:
    """Every number from ``start`` to ``stop``: for a Latin hypercube."""

    start: Decimal
    stop: Decimal
    unit: str = ""
    count: int = 1

    def at_share(self, share: float) -> str:
        """Return the text of the value a share of the way along, to seven significant digits."""
        value = float(self.start) + share * float(self.stop - self.start)
        low, high = sorted((self.start, self.stop))
        return _text(min(max(Decimal(f"{value:.7g}"), low), high), self.unit)

    def at(self, _: int) -> str:
        """Return the text of the first value."""
        return _text(self.start, self.unit)


Part = Listed | Stepped | Between


@dataclass(frozen=True)
class Axis:
    """A varied key and its values, in order.

    Attributes
    ----------
    key
        The dotted key, as it was given.
    kind
        What the set-up file takes there.
    parts
        Its values and ranges.
    """

    key: str
    kind: Kind
    parts: Sequence[Part]

    @property
    def count(self) -> int:
        """Return how many values there are."""
        return sum(part.count for part in self.parts)

    @property
    def between(self) -> Between | None:
        """Return the range without a step, where that is what was given."""
        first = self.parts[0]
        return first if isinstance(first, Between) else None

    @property
    def measured(self) -> bool:
        """Return whether the values are numbers or lengths."""
        return self.kind in _MEASURED

    def at(self, n: int) -> str:
        """Return the text, as TOML has it, of the value at a position from 0."""
        for part in self.parts:
            if n < part.count:
                return part.at(n)
            n -= part.count
        raise IndexError(n)

    def at_share(self, share: float) -> str:
        """Return the text of the value a share of the way along, from 0 to below 1."""
        if self.between is not None:
            return self.between.at_share(share)
        return self.at(min(int(share * self.count), self.count - 1))


def axes_of(given: Sequence[str]) -> tuple[Axis, ...]:
    """Return the varied keys with their values; no value is made yet.

    Raises
    ------
    InputError
        Nothing is varied, a text has not the form it should have, its key is none of a set-up or was
        given before, or a range is empty, without end, or steps the wrong way.
    """
    if not given:
        mend = f"Say what to vary. {_EXAMPLE}"
        raise InputError(key=OPTION, given=MISSING, allowed="given at least once", mend=mend)
    axes: list[Axis] = []
    for one in given:
        axis = axis_of(one)
        if _parts(axis.key, one) in [_parts(old.key, one) for old in axes]:
            mend = "Give each key once, with all its values: key=a,b,c."
            raise InputError(key=OPTION, given=one, allowed="another key than before", mend=mend)
        axes.append(axis)
    return tuple(axes)


def axis_of(given: str) -> Axis:
    """Return one varied key with its values; errors as in ``axes_of``."""
    key, equals, text = given.partition("=")
    key = key.strip()
    if not equals or not key:
        raise InputError(key=OPTION, given=given, allowed=_FORM, mend=_EXAMPLE)
    kind = kind_of(key, given)
    items = list(split_items(text))
    if not all(items):
        mend = f"A value is missing. {_EXAMPLE}"
        raise InputError(key=OPTION, given=given, allowed=_FORM, mend=mend)
    parts = [_part(item, kind, given) for item in items]
    if len(parts) > 1 and any(isinstance(part, Between) for part in parts):
        mend = "Add the step, from:to:step, or give the range alone and say with --cases how many to draw."
        raise InputError(key=OPTION, given=given, allowed="ranges with a step in a list", mend=mend)
    return Axis(key, kind, parts)


def _parts(key: str, given: str) -> list[str]:
    """Return the parts of a dotted key."""
    return key_parts(key, change=given, option=OPTION)


def kind_of(key: str, given: str) -> Kind:
    """Return what the set-up file takes at a dotted key.

    Raises
    ------
    InputError
        No set-up has such a key; the nearest one is offered.
    """
    parts = _parts(key, given)
    match parts:
        case ["bar", "steps", number, name] if number.isdecimal():
            return _known(name, "bar.steps", key=key)
        case [section, name, number] if number.isdecimal():
            whole = _known(name, section, key=key)
            if whole in _IN_LISTS:
                return _IN_LISTS[whole]
        case ["materials", _, name]:
            return _known(name, "materials", key=key)
        case [section, name]:
            return _known(name, section, key=key)
    raise _unknown(key)


def _known(name: str, section: str, *, key: str) -> Kind:
    """Return the kind of a key of a section."""
    if name not in KEYS.get(section, {}):
        raise _unknown(key)
    return KEYS[section][name]


def _unknown(key: str) -> InputError:
    """Return the error of a key that exists nowhere."""
    known = [f"{section}.{name}" for section, keys in KEYS.items() if section for name in keys]
    mend = hint(key, known, otherwise="See the table of keys in examples/GUIDE.md.")
    return InputError(
        key=OPTION,
        given=Plain(f"{key}, which cannot be varied"),
        allowed="a key of a section of a set-up",
        mend=mend,
    )


def split_items(text: str) -> Iterator[str]:
    """Yield the parts of a text between commas that stand in no quotes and no brackets."""
    start = depth = 0
    quote = ""
    for at, sign in enumerate(text):
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'":
            quote = sign
        elif sign in "[{":
            depth += 1
        elif sign in "]}":
            depth -= 1
        elif sign == "," and depth == 0:
            yield text[start:at].strip()
            start = at + 1
    yield text[start:].strip()


def _part(item: str, kind: Kind, given: str) -> Part:
    """Return a value or a range."""
    bare = item[1:-1] if item[:1] == item[-1:] and item[:1] in ("'", '"') else item
    if kind not in _MEASURED or ":" not in bare:
        return Listed(item)
    ends = [one.strip() for one in bare.split(":")]
    if len(ends) not in (2, 3) or not all(ends):
        mend = "Write from:to:step, three numbers with colons between, both ends included."
        raise InputError(key=OPTION, given=given, allowed=_FORM, mend=mend)
    numbers, unit = _numbers(ends, kind, given)
    if len(numbers) == 2:
        start, stop = numbers
        return Between(start, stop, unit)
    return _stepped(numbers, unit, given)


def _stepped(numbers: Sequence[Decimal], unit: str, given: str) -> Stepped:
    """Return a range with a step."""
    start, stop, step = numbers
    if step == 0:
        mend = "Give a step above 0, such as 40:120:5."
        raise InputError(key=OPTION, given=given, allowed="a range with a step other than 0", mend=mend)
    if (stop - start) * step < 0:
        mend = f"The step leads away from the end: turn its sign, or write {stop}:{start}."
        raise InputError(key=OPTION, given=given, allowed="a range that is not empty", mend=mend)
    return Stepped(start, step, int((stop - start) / step) + 1, unit)


def _numbers(ends: Sequence[str], kind: Kind, given: str) -> tuple[list[Decimal], str]:
    """Return the numbers of a range and what follows each: nothing, or mm where lengths carry units."""
    try:
        numbers, unit = [Decimal(one) for one in ends], ""
    except InvalidOperation:
        if kind is not Kind.LENGTH:
            mend = "Write plain numbers with a decimal point."
            raise InputError(key=OPTION, given=given, allowed="a range of numbers", mend=mend) from None
        texts = [one.strip("\"'") for one in ends]
        lengths = [parse_length_mm(one, key=OPTION) for one in texts]
        numbers, unit = [Decimal(f"{one:.{_UNIT_DIGITS}g}") for one in lengths], " mm"
    if not all(one.is_finite() for one in numbers):
        mend = "Give finite numbers."
        raise InputError(key=OPTION, given=given, allowed="a range with two ends", mend=mend)
    # By their exponents, before any arithmetic: a number of a million digits takes a while to subtract.
    if any(one and abs(one.adjusted()) > _MOST_DIGITS for one in numbers):
        mend = "Check the digits and exponents."
        raise InputError(key=OPTION, given=given, allowed="a range of numbers that things have", mend=mend)
    return numbers, unit


def _text(value: Decimal, unit: str) -> str:
    """Return a value as TOML has it."""
    plain = f"{value:f}"
    plain = plain.rstrip("0").rstrip(".") if "." in plain else plain
    plain = "0" if plain == "-0" else plain
    return f'"{plain}{unit}"' if unit else plain
