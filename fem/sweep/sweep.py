"""Many cases of one set-up as a table, for programs: the command ``sweep`` without files and workers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from itertools import product
from typing import Any, Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import hint
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.sweep.batches import Case, Outcome, batches_of, solve_batch
from stickout.fem.sweep.case_row import columns_of, row_of
from stickout.fem.sweep.rows import Rows

_KEY: Final = "vary"


def sweep(setup: Setup, vary: Mapping[str, Sequence[Any]], *, paired: bool = False) -> Rows:
    """Return a row for each case of a set-up with some of its parts varied.

    Like cases (other overhang, grip stiffness, material or rotation of one bar) share most of their work.

    Parameters
    ----------
    setup
        The set-up.
    vary
        Values by the dotted name of a part, as in ``fem.setup.parts``: ``{"bar.overhang_mm": (80, 64)}``;
        ``materials.bar`` takes materials. Nothing but the order of the values decides that of the rows.
    paired
        First value with first value, second with second; else every value with every other, the last name
        fastest.

    Returns
    -------
    Rows
        A list of dictionaries, and with ``frame()`` a pandas DataFrame.
        Values by column, as ``fem.sweep.case_row.columns_of`` names them: the case's number from 1, the
        varied values, ``status`` (``done`` or ``failed``, and then the ``reason``), and the numbers with
        their units in their names.

    Raises
    ------
    InputError
        Nothing is varied, a list is empty or the lists of a paired sweep differ in length, or the set-up
        has no such part.

    Examples
    --------
    >>> from stickout.fem.setup.grips import RigidGrip
    >>> from stickout.fem.setup.parts import Setup, Solve
    >>> from stickout.meshes.parts import Bar
    >>> bar = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip(), solve=Solve(2, 0.02))
    >>> rows = sweep(bar, {"bar.overhang_mm": (160, 120)})
    >>> round(rows[0]["spring_um_per_10n"] / rows[1]["spring_um_per_10n"], 1)  # near (160 / 120)^3
    2.4
    """
    given = _values(vary, paired)
    cases, rows = [], {}
    for number, values in enumerate(given):
        changed = setup
        for name, value in zip(vary, values, strict=True):
            changed = _with_part(changed, name.split("."), value, name=name)
        fault = next(iter(setup_faults(changed)), None)
        if fault is None:
            cases.append(Case(number, changed))
        else:
            rows[number] = row_of(Outcome(number, None, str(fault)), setup=None)
    setups = {case.number: case.setup for case in cases}
    for batch in batches_of(cases):
        for outcome in solve_batch(batch):
            rows[outcome.number] = row_of(outcome, setup=setups[outcome.number])
    columns = columns_of(list(vary), modes=max([s.solve.modes for s in setups.values()], default=0))
    told = (
        {**dict.fromkeys(columns), "case": n + 1, **dict(zip(vary, values, strict=True)), **rows[n]}
        for n, values in enumerate(given)
    )
    return Rows(told, varied=tuple(vary))


def _values(vary: Mapping[str, Sequence[Any]], paired: bool) -> list[tuple[Any, ...]]:
    """Return the values of each case."""
    counts = [len(values) for values in vary.values()]
    if not counts or not all(counts) or (paired and len(set(counts)) > 1):
        allowed = "lists of one length" if paired else "at least one name with at least one value"
        mend = 'For example {"bar.overhang_mm": (80, 64)}.'
        raise InputError(key=_KEY, given={n: len(v) for n, v in vary.items()}, allowed=allowed, mend=mend)
    return list(zip(*vary.values(), strict=True) if paired else product(*vary.values()))


def _with_part(whole: Any, path: Sequence[str], value: Any, *, name: str) -> Any:  # noqa: ANN401 - any part
    """Return a part of a set-up with one part of it replaced."""
    if not path:
        return value
    first, rest = path[0], path[1:]
    if is_dataclass(whole) and not isinstance(whole, type):
        known = [one.name for one in fields(whole)]
        if first in known:
            return replace(whole, **{first: _with_part(getattr(whole, first), rest, value, name=name)})
    elif isinstance(whole, Mapping):
        known = list(whole)
        if first in known:
            return {**whole, first: _with_part(whole[first], rest, value, name=name)}
    elif isinstance(whole, tuple):
        known = [str(n + 1) for n in range(len(whole))]
        if first in known:
            at = int(first) - 1
            return (*whole[:at], _with_part(whole[at], rest, value, name=name), *whole[at + 1 :])
    else:
        known = []
    mend = hint(first, known, otherwise=f"There: {', '.join(known) or 'nothing'}.")
    raise InputError(key=_KEY, given=name, allowed="a part of the set-up", mend=mend)
