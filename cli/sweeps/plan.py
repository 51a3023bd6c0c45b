"""A plan: which cases there are, in which order, and what tells it from another plan.

The count is known before any case is made; cases are made one by one.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from math import prod
from typing import Any, Final

from stickout.cli.sweeps.values import OPTION, Axis
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.file import setup_from_tables
from stickout.fem.setup.keys import Kind
from stickout.fem.setup.overrides import read_value
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.setup.setup_error import SetupError
from stickout.fem.sweep.case_row import rounded_off
from stickout.fem.units import MM_PER_INCH, parse_length_mm

GRID: Final = "grid"
PAIRED: Final = "paired"
HYPERCUBE: Final = "hypercube"
MOST_DRAWN: Final = (
    1_000_000  # cases of a hypercube, all of whose places are drawn before the first is solved
)
SEED: Final = 20_000  # fixed, so that the same command gives the same cases


@dataclass(frozen=True)
class Planned:
    """One case: its number from 0, its set-up, or the reason why there is none."""

    number: int
    setup: Setup | None
    reason: str | None = None


@dataclass(frozen=True)
class Plan:
    """Every case of a sweep.

    Attributes
    ----------
    tables
        Tables of the set-up file, the changes of ``--set`` made.
    axes
        The varied keys.
    how
        ``grid``: every value with every other, the last key fastest; ``paired``: first with first, second
        with second; ``hypercube``: every range cut into as many parts as there are cases, one case in each.
    count
        How many cases there are.
    seed
        Seed of the hypercube.
    shares
        How far along each range a case of the hypercube lies, from 0 to below 1, shape (count, n_axes).
    """

    tables: Mapping[str, Any]
    axes: Sequence[Axis]
    how: str
    count: int
    seed: int = SEED
    shares: Sequence[Sequence[float]] = field(default=(), repr=False)

    @property
    def keys(self) -> tuple[str, ...]:
        """Return the varied keys."""
        return tuple(axis.key for axis in self.axes)

    @property
    def units(self) -> str:
        """Return the units of the set-up file."""
        return "inch" if self.tables.get("units") == "inch" else "mm"

    @property
    def modes(self) -> int:
        """Return the most modes that a case may have."""
        table = self.tables.get("solve")
        asked = [table.get("modes", Solve.modes) if isinstance(table, dict) else Solve.modes]
        for axis in self.axes:
            if axis.key == "solve.modes":
                asked = [read_value(p.at(n)) for p in axis.parts for n in (0, p.count - 1)]
        return max([one for one in asked if isinstance(one, int)], default=Solve.modes)

    def texts(self, number: int) -> tuple[str, ...]:
        """Return the values of a case, one for each varied key, as TOML has them."""
        if self.how == HYPERCUBE:
            return tuple(a.at_share(s) for a, s in zip(self.axes, self.shares[number], strict=True))
        if self.how == PAIRED:
            return tuple(axis.at(number) for axis in self.axes)
        texts: list[str] = []
        for axis in reversed(self.axes):
            number, at = divmod(number, axis.count)
            texts.append(axis.at(at))
        return tuple(reversed(texts))

    def values(self, number: int) -> tuple[float | str | None, ...]:
        """Return the values of a case as the table shows them: numbers, lengths in the set-up's units."""
        return tuple(
            _shown(axis, text, self.units) for axis, text in zip(self.axes, self.texts(number), strict=True)
        )

    def case(self, number: int) -> Planned:
        """Return a case, its set-up read and checked as every command does."""
        changes = [f"{axis.key}={text}" for axis, text in zip(self.axes, self.texts(number), strict=True)]
        try:
            return Planned(number, setup_from_tables(dict(self.tables), changes=changes).setup)
        except SetupError as error:
            return Planned(number, None, " ".join(str(one) for one in error.mistakes))

    def cases(self, start: int, stop: int) -> Iterator[Planned]:
        """Yield the cases from one number to before another."""
        return (self.case(number) for number in range(start, stop))

    def record(self) -> dict[str, str]:
        """Return what makes two plans the same, a short text for each part of it."""
        return {
            "set-up": _digest(self.tables),
            "--vary": _digest([(a.key, [repr(part) for part in a.parts]) for a in self.axes]),
            "the way they combine": _digest([self.how, self.count, self.seed]),
        }


def plan_of(
    tables: Mapping[str, Any], axes: Sequence[Axis], *, paired: bool, cases: int | None, seed: int
) -> Plan:
    """Return the plan of a sweep; no case is made yet, except the first one to check the set-up.

    Raises
    ------
    InputError
        The lists of a paired plan are not equally long, a range has no step where one is needed, the number
        of cases is below one, or a key counts into a list that is not so long.
    SetupError
        The set-up is at fault whatever is varied.
    """
    _check_lists(tables, axes)
    if paired and cases is not None:
        mend = "Choose one: pairs from first to last, or so many cases drawn from the ranges."
        raise InputError(key="--paired", given=Plain("given"), allowed="given without --cases", mend=mend)
    plan = _listed(tables, axes, paired) if cases is None else _hypercube(tables, axes, cases, seed)
    _check_base(plan)
    return plan


def _listed(tables: Mapping[str, Any], axes: Sequence[Axis], paired: bool) -> Plan:
    """Return a grid or a paired plan."""
    for axis in axes:
        if axis.between is None:
            continue
        mend = "Add the step, from:to:step, or say with --cases how many cases to draw from the range."
        raise InputError(key=OPTION, given=axis.key, allowed="a range with a step", mend=mend)
    counts = [axis.count for axis in axes]
    if not paired:
        return Plan(tables, axes, GRID, prod(counts))
    if len(set(counts)) > 1:
        told = ", ".join(f"{axis.key} {axis.count}" for axis in axes)
        mend = "Give every key as many values, or leave --paired out for every value with every other."
        raise InputError(key="--paired", given=Plain(told), allowed="lists of one length", mend=mend)
    return Plan(tables, axes, PAIRED, counts[0])


def _hypercube(tables: Mapping[str, Any], axes: Sequence[Axis], cases: int, seed: int) -> Plan:
    """Return a Latin hypercube.

    Source
    ------
    McKay, Beckman & Conover, Technometrics 21 (1979) 239 (recalled, not opened).
    """
    import numpy as np

    from stickout.fem.setup.bands import latin_hypercube

    if cases < 1:
        mend = "Say how many cases to draw."
        raise InputError(key="--cases", given=cases, allowed="a whole number from 1 on", mend=mend)
    if cases > MOST_DRAWN:
        mend = "Draw fewer: a sample of some thousands tells what there is to tell."
        raise InputError(key="--cases", given=cases, allowed=f"at most {MOST_DRAWN}", mend=mend)
    if seed < 0:
        raise InputError(key="--seed", given=seed, allowed="0 or above", mend="Any whole number will do.")
    for axis in axes:
        if axis.between is not None and axis.kind is Kind.COUNT:
            mend = "Whole numbers need a step: from:to:1."
            raise InputError(key=OPTION, given=axis.key, allowed="a range with a step", mend=mend)
    draw = np.random.default_rng(seed)
    shares = latin_hypercube(draw, count=cases, inputs=len(axes), orders_first=True).T
    return Plan(tables, axes, HYPERCUBE, cases, seed, shares)  # type: ignore[arg-type]


def _check_lists(tables: Mapping[str, Any], axes: Sequence[Axis]) -> None:
    """Check that a key that counts into a list finds its entry."""
    for axis in axes:
        path = axis.key.split(".")
        here: Any = tables
        for part in path:
            if isinstance(here, list) or part.isdecimal():
                length = len(here) if isinstance(here, list) else 0
                if not part.isdecimal() or not 1 <= int(part) <= length:
                    mend = (
                        "Entries are counted from one." if length else "Write the list in the set-up first."
                    )
                    raise InputError(
                        key=OPTION,
                        given=axis.key,
                        allowed=f"an entry of a list that has {length}",
                        mend=mend,
                    )
                here = here[int(part) - 1]
            else:
                here = here.get(part) if isinstance(here, dict) else None


def _check_base(plan: Plan) -> None:
    """Check that the set-up itself is sound, as it stands or with the values of the first case."""
    try:
        setup_from_tables(dict(plan.tables))
    except SetupError:
        first = [f"{k}={text}" for k, text in zip(plan.keys, plan.texts(0), strict=True)]
        setup_from_tables(dict(plan.tables), changes=first)


def _shown(axis: Axis, text: str, units: str) -> float | str | None:
    """Return a value for the table; None where a number was due and none came."""
    value = read_value(text)
    if axis.kind is Kind.LENGTH and isinstance(value, str):
        try:
            length = parse_length_mm(value, key=axis.key)
        except InputError:
            return None
        return rounded_off(length / MM_PER_INCH if units == "inch" else length)
    if axis.measured:
        sound = isinstance(value, int | float) and not isinstance(value, bool)
        return rounded_off(float(value)) if sound else None
    return value if isinstance(value, str) else text


def _digest(what: object) -> str:
    """Return a short text that differs where two things differ."""
    return sha256(json.dumps(what, sort_keys=True, default=str).encode()).hexdigest()[:16]
