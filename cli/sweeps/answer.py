"""What a person reads after a sweep: how many, which is best, where the limits are, where the table is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from stickout.cli.sweeps.count import spaced
from stickout.cli.sweeps.gathered import Gathered
from stickout.cli.sweeps.labels import BANDS, MARGIN, NOTE, SPRING
from stickout.cli.sweeps.limits import FOUR_TO_ONE, Bound, crossings
from stickout.cli.text.words import folded, hertz, listed, load_name, margin_figure, plain

_MOST_CURVES: Final = 4  # beyond so many curves the crossings are left to the picture
_STIFF: Final = ("rigid", "held")


def sweep_text(found: Gathered, limits: Sequence[Bound], *, out: Sequence[Path], plot: Path | None) -> str:
    """Return the answer to a sweep.

    Parameters
    ----------
    found
        The finished sweep.
    limits
        Limits to look for.
    out
        The tables.
    plot
        The picture, where one was drawn.
    """
    lines = [*_head(found)]
    if found.done:
        lines += [*_best(found), *_crossed(found, limits), *_doubts(found)]
    names = listed([str(one) for one in (*out, *filter(None, [plot]))])
    lines.append(f"Written to {names}: {spaced(found.count)} rows, units in the names of the columns.")
    return "\n".join(part for line in lines for part in folded(line, "  ")) + "\n"


def _head(found: Gathered) -> Iterator[str]:
    """Yield the title, and how many cases have an answer."""
    title = found.plan.tables.get("title")
    if isinstance(title, str) and title:
        yield title
    failed = found.count - len(found.done)
    keys = listed([found.key_label(axis).words for axis in found.plan.axes])
    if not failed:
        yield f"{_cases(found.count)} of varied {keys}: all have an answer."
        return
    told = f"{spaced(len(found.done))} have an answer, {spaced(failed)} none"
    yield f"{_cases(found.count)} of varied {keys}: {told}."
    first = next(at for at in range(found.count) if found.columns["status"][at] == "failed")
    yield f"The first without one is case {first + 1}: {found.columns['reason'][first]}"


def _cases(count: int) -> str:
    """Return "1 case" or "17 cases"."""
    return f"{spaced(count)} case{'' if count == 1 else 's'}"


def _best(found: Gathered) -> Iterator[str]:
    """Yield the stiffest case, and the one with the largest margin."""
    stiffest = min(found.done, key=lambda at: found.number(SPRING, at))
    note = hertz(found.number(NOTE, stiffest))
    told = f"springs {_value(found, SPRING, stiffest)} under {load_name(found.plan.units)}, sings at {note}"
    margins = [at for at in found.done if not math.isnan(found.number(MARGIN, at))]
    quietest = max(margins, key=lambda at: found.number(MARGIN, at), default=None)
    if quietest is None:
        yield f"Stiffest: {found.where(stiffest)}: {told}."
    elif quietest == stiffest:
        both = "Stiffest and farthest from chatter"
        yield f"{both}: {found.where(stiffest)}: {told}; {_margin(found, quietest)}."
    else:
        yield f"Stiffest: {found.where(stiffest)}: {told}; {_margin(found, stiffest)}."
        yield f"Farthest from chatter: {found.where(quietest)}: {_margin(found, quietest)}."


def _margin(found: Gathered, at: int) -> str:
    """Return the margin of a case with its band."""
    low, high = (found.number(name, at) for name in BANDS[MARGIN])
    band = f" ({margin_figure(low)} to {'beyond' if math.isinf(high) else margin_figure(high)})"
    return f"margin {margin_figure(found.number(MARGIN, at))}" + ("" if math.isnan(low) else band)


def _value(found: Gathered, column: str, at: int) -> str:
    """Return a value with its band: "3.7 µm (3.1 to 5.4)"."""
    label = found.label(column)
    low, high = (found.number(name, at) for name in BANDS[column])
    text = label.value(found.number(column, at), 2)
    if math.isnan(low):
        return text
    return f"{text} ({plain(low * label.scale)} to {plain(high * label.scale)})"


def _crossed(found: Gathered, limits: Sequence[Bound]) -> Iterator[str]:
    """Yield where each limit is crossed, or on which side of it all cases lie."""
    groups = found.groups()
    along = found.along is not None and len(groups) <= _MOST_CURVES
    for limit in limits:
        values = [found.number(limit.column, at) for at in found.done]
        known = [one for one in values if not math.isnan(one)]
        if not known:
            continue
        inside = [one for one in known if one >= limit.value]
        what = limit_words(found, limit)
        if not inside or len(inside) == len(known):
            yield f"{what} is not reached: every case lies {'above' if inside else 'below'} it."
        elif along:
            yield from _along(found, limit, groups)
        else:
            yield f"{what}: {spaced(len(inside))} of {spaced(len(known))} cases have as much or more."


def limit_words(found: Gathered, limit: Bound) -> str:
    """Return what a limit is called: "The spring under 10 N of 5 µm"."""
    if limit == FOUR_TO_ONE:
        return "An overhang of 4 times the size"
    label = found.label(limit.column)
    return f"The {label.words.partition(',')[0]} of {label.value(limit.value)}"


def _along(found: Gathered, limit: Bound, groups: dict[str, list[int]]) -> Iterator[str]:
    """Yield where the curves along one key cross a limit; curves that cross alike are told together."""
    label = found.key_label(found.the_key)
    alike: dict[str, list[str]] = {}
    for name, members in groups.items():
        places = crossed_at(found, limit, members=members)
        if not places:
            continue
        band = _crossing_band(found, limit, members) if len(places) == 1 else None
        around = "" if band is None else f" ({' to '.join(_place(one) for one in band)} by its band)"
        where = f"{listed([_place(one) for one in places])} {label.unit}".rstrip() + around
        alike.setdefault(where, []).append(name)
    for where, names in alike.items():
        of = "" if len(names) == len(groups) else f" ({listed(names)})"
        yield f"{limit_words(found, limit)} is reached at {label.words} of about {where}{of}."


def _place(value: float) -> str:
    """Return a value read off between two cases: two digits, three from a hundred on."""
    return plain(value, 3 if abs(value) >= 100 else 2)


def crossed_at(
    found: Gathered, limit: Bound, *, members: Sequence[int], column: str | None = None
) -> list[float]:
    """Return the values of the key it goes along at which a curve crosses a limit.

    Parameters
    ----------
    found
        The sweep.
    limit
        The limit.
    members
        Positions of the cases on the curve.
    column
        The column that crosses, where it is not the limit's own.
    """
    axis = found.the_key
    x = [found.number(axis.key, at) for at in members]
    y = [found.number(column or limit.column, at) for at in members]
    return crossings(x, y, value=limit.value)


def _crossing_band(found: Gathered, limit: Bound, members: Sequence[int]) -> tuple[float, float] | None:
    """Return where low and high of a band cross a limit, None unless both do once."""
    sides = [crossed_at(found, limit, members=members, column=one) for one in BANDS.get(limit.column, ())]
    if len(sides) != 2 or any(len(one) != 1 for one in sides):
        return None
    low, high = sorted(one[0] for one in sides)
    return low, high


def _doubts(found: Gathered) -> Iterator[str]:
    """Yield what stands against taking the numbers too seriously."""
    rough = sum(found.columns["accurate"][at] is False for at in found.done)
    if rough:
        yield f"In {_cases(rough)} the accuracy asked for was not reached: see the column note_error."
    grip = found.plan.tables.get("grip")
    style = grip.get("style") if isinstance(grip, dict) else None
    if style in _STIFF and "grip.style" not in found.plan.keys:
        yield (
            f"An estimate, not a promise: a {style} grip is stiffer than any holder; expect notes up to 30 % "
            "lower on the machine. Tap or pull one of these bars to settle it."
        )
    else:
        yield (
            "An estimate, not a promise: seat and clamping are the least known. Tap or pull one of these "
            "bars to settle it."
        )
