"""The numbers of a finished sweep that words and pictures need, by column."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stickout.cli.sweeps.labels import Label, column_label, key_label
from stickout.cli.sweeps.plan import PAIRED, Plan
from stickout.cli.sweeps.values import Axis
from stickout.fem.sweep.case_row import DONE, Row, Value


@dataclass(frozen=True)
class Gathered:
    """Columns of a finished sweep.

    Attributes
    ----------
    plan
        Its plan.
    columns
        Values by column, one for each case in the plan's order: the varied keys and what was asked for.
    """

    plan: Plan
    columns: Mapping[str, Sequence[Value]]

    @property
    def count(self) -> int:
        """Return how many cases there are."""
        return self.plan.count

    @property
    def done(self) -> list[int]:
        """Return the positions of the cases with an answer."""
        return [n for n, status in enumerate(self.columns["status"]) if status == DONE]

    @property
    def measured(self) -> list[Axis]:
        """Return the varied keys whose values are numbers."""
        return [axis for axis in self.plan.axes if axis.measured]

    @property
    def named(self) -> list[Axis]:
        """Return the varied keys whose values are words."""
        return [axis for axis in self.plan.axes if not axis.measured]

    @property
    def along(self) -> Axis | None:
        """Return the key that curves go along: the only one with numbers, or the first of a paired plan."""
        few = len(self.measured) == 1 or self.plan.how == PAIRED
        return self.measured[0] if self.measured and few else None

    @property
    def the_key(self) -> Axis:
        """Return the key that curves go along; there must be one."""
        assert self.along is not None
        return self.along

    def number(self, column: str, at: int) -> float:
        """Return a number, NaN where there is none."""
        value = self.columns[column][at]
        return float(value) if isinstance(value, int | float) else math.nan

    def has(self, column: str) -> bool:
        """Return whether any case has a number in a column."""
        return any(isinstance(value, int | float) for value in self.columns.get(column, ()))

    def label(self, column: str) -> Label:
        """Return the label of a column that is no varied key."""
        return column_label(column, self.plan.units)

    def key_label(self, axis: Axis) -> Label:
        """Return the label of a varied key."""
        return key_label(axis, self.plan.units)

    def name(self, at: int) -> str:
        """Return the words of a case's varied words: "steel, bonded"."""
        return ", ".join(str(self.columns[axis.key][at]) for axis in self.named)

    def groups(self) -> dict[str, list[int]]:
        """Return the positions of the cases by the words varied, in order of their first case."""
        found: dict[str, list[int]] = {}
        for at in range(self.count):
            found.setdefault(self.name(at), []).append(at)
        return found

    def where(self, at: int) -> str:
        """Return what a case has for the varied keys: "bar overhang 40 mm, bar material steel"."""
        told = []
        for axis in self.plan.axes:
            value = self.columns[axis.key][at]
            label = self.key_label(axis)
            shown = label.value(value, 4) if isinstance(value, float) else str(value)
            told.append(f"{label.words} {shown}")
        return ", ".join(told)


def gathered(plan: Plan, rows: Iterable[Row], *, columns: Iterable[str]) -> Gathered:
    """Return some columns of a finished sweep, the varied keys and the status among them."""
    wanted = dict.fromkeys([*plan.keys, "status", *columns])
    kept: dict[str, list[Value]] = {name: [] for name in wanted}
    for row in rows:
        for name, values in kept.items():
            values.append(row.get(name))
    return Gathered(plan, kept)
