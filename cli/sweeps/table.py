"""The table of a sweep as CSV and as Parquet: the same rows in the same order."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stickout.cli.outputs import writing
from stickout.cli.sweeps.plan import Plan
from stickout.fem.sweep.case_row import COUNTS, DIGITS, TEXTS, TRUTHS, Row, Value, columns_of

if TYPE_CHECKING:
    from stickout.cli.sweeps.journal import Journal

SUFFIXES: Final = (".csv", ".parquet")
_GROUP: Final = 10_000  # rows written at a time


def columns(plan: Plan) -> tuple[str, ...]:
    """Return the columns of a plan's table."""
    return columns_of(plan.keys, modes=plan.modes)


def rows(plan: Plan, journal: Journal) -> Iterator[Row]:
    """Yield the rows of a finished plan, in its order."""
    for number, row in journal.rows(range(plan.count)):
        yield {
            "case": number + 1,
            **dict(zip(plan.keys, plan.values(number), strict=True)),
            **row,
            "units": plan.units,
        }


def write_table(plan: Plan, journal: Journal, *, out: Path) -> None:
    """Write the table of a finished plan in the format of the file's suffix, whole or not at all.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    table = rows(plan, journal)
    with writing(out, key="--out") as part:
        if out.suffix.lower() == ".csv":
            write_csv(table, part, columns=columns(plan))
        else:
            write_parquet(table, part, columns=columns(plan), numbers=numeric_keys(plan))


def numeric_keys(plan: Plan) -> tuple[str, ...]:
    """Return the varied keys whose values are numbers or lengths."""
    return tuple(axis.key for axis in plan.axes if axis.measured)


def write_csv(table: Iterable[Row], path: Path, *, columns: Sequence[str]) -> None:
    """Write rows as CSV: UTF-8, commas, a line of names.

    A number has at most seven significant digits; what is not known is empty; ``inf`` is without limit.
    """
    with path.open("w", encoding="utf-8", newline="") as file:
        sheet = csv.writer(file, lineterminator="\n")
        sheet.writerow(columns)
        for row in table:
            sheet.writerow([csv_text(row.get(name)) for name in columns])


def csv_text(value: Value) -> str:
    """Return a value as the CSV file has it."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.{DIGITS}g}" if isinstance(value, float) else str(value)


def write_parquet(
    table: Iterable[Row], path: Path, *, columns: Sequence[str], numbers: Sequence[str] = ()
) -> None:
    """Write rows as Parquet; ``numbers`` are the varied keys that hold numbers. What is not known is null."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    schema = pa.schema([(name, _kind(pa, name, numbers)) for name in columns])
    with pq.ParquetWriter(path, schema) as writer:
        group: list[Row] = []
        for row in table:
            group.append({name: row.get(name) for name in columns})
            if len(group) == _GROUP:
                writer.write_table(pa.Table.from_pylist(group, schema=schema))
                group.clear()
        writer.write_table(pa.Table.from_pylist(group, schema=schema))


def _kind(pa: Any, name: str, numbers: Sequence[str]) -> Any:  # noqa: ANN401 - pyarrow has no types
    """Return the type of a column."""
    if name in COUNTS:
        return pa.int64()
    if name in TRUTHS:
        return pa.bool_()
    text = name in TEXTS or name.endswith("_kind") or ("." in name and name not in numbers)
    return pa.string() if text else pa.float64()
