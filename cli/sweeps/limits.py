"""Named limits of a sweep, and where they are crossed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from stickout.cli.sweeps.gathered import Gathered
from stickout.cli.sweeps.labels import MARGIN
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain, hint
from stickout.fem.sweep.case_row import COUNTS, OVERHANG_OVER_SIZE, TEXTS, TRUTHS


@dataclass(frozen=True)
class Bound:
    """A value of a column that is drawn and looked for."""

    column: str
    value: float


# The shop rule: a steel bar sticks out no more than four times its size (common practice, no source).
FOUR_TO_ONE: Final = Bound(OVERHANG_OVER_SIZE, 4.0)


def number_columns(columns: Iterable[str]) -> list[str]:
    """Return the columns that hold numbers one may draw."""
    apart = (*TEXTS, *COUNTS, *TRUTHS)
    return [name for name in columns if name not in apart and not name.endswith("_kind") and "." not in name]


def limits_of(given: Iterable[str], columns: Sequence[str]) -> list[Bound]:
    """Return the limits that ``--limit column=value`` names.

    Raises
    ------
    InputError
        A text is not of that form, or its column is none with numbers.
    """
    limits = []
    for one in given:
        column, equals, text = one.partition("=")
        value = _number(text)
        if not equals or value is None:
            mend = "For example spring_um_per_10n=5, or margin=1."
            raise InputError(key="--limit", given=one, allowed="of the form column=number", mend=mend)
        check_column(column.strip(), columns, option="--limit")
        limits.append(Bound(column.strip(), value))
    return limits


def check_column(column: str, columns: Sequence[str], *, option: str) -> None:
    """Check that a column holds numbers.

    Raises
    ------
    InputError
        It does not, or there is none of that name; the nearest one is offered.
    """
    known = number_columns(columns)
    if column not in known:
        mend = hint(
            column, known, otherwise=f"Such as {', '.join(known[:8])}; the rest is in examples/GUIDE.md."
        )
        given = Plain(f"{column}, which holds no numbers") if column in columns else column
        raise InputError(key=option, given=given, allowed="a column with numbers", mend=mend)


def _number(text: str) -> float | None:
    """Return a finite number, None where a text is none."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def limits_that_count(found: Gathered, named: Sequence[Bound]) -> list[Bound]:
    """Return the limits named, the four-to-one rule where it varies, and margin 1 where there is a margin."""
    limits = list(named)
    ratios = {found.number(OVERHANG_OVER_SIZE, at) for at in range(found.count)}
    if len({one for one in ratios if not math.isnan(one)}) > 1:
        limits.append(FOUR_TO_ONE)
    if found.has(MARGIN) and not any(one.column == MARGIN for one in limits):
        limits.append(Bound(MARGIN, 1.0))
    return limits


def crossings(x: Sequence[float], y: Sequence[float], *, value: float) -> list[float]:
    """Return where a curve through points crosses a value.

    Between two points the curve is a power law where all four numbers are positive, as springs and notes
    of bars nearly are, and straight elsewhere. Points without a number break it.

    Parameters
    ----------
    x, y
        The points; they need not be in order.
    value
        The value looked for.

    Returns
    -------
    list
        Positions, from the lowest on.
    """
    points = sorted((a, b) for a, b in zip(x, y, strict=True) if not math.isnan(a))
    found: list[float] = []
    for (x0, y0), (x1, y1) in pairwise(points):
        if not (math.isfinite(y0) and math.isfinite(y1)) or (y0 - value) * (y1 - value) > 0 or y0 == y1:
            continue
        if y0 == value and found and found[-1] == x0:
            continue
        found.append(_between((x0, y0), (x1, y1), value))
    return found


def _between(start: tuple[float, float], stop: tuple[float, float], value: float) -> float:
    """Return where the curve between two points has a value."""
    (x0, y0), (x1, y1) = start, stop
    if min(x0, y0, x1, y1, value) > 0:
        share = math.log(value / y0) / math.log(y1 / y0)
        return x0 * math.exp(share * math.log(x1 / x0))
    return x0 + (x1 - x0) * (value - y0) / (y1 - y0)
