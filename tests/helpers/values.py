"""The table of check values (tests/data/check_values.json) and the comparison every test uses.

Each record says where its value comes from and how far a result may stand from it; a failed
comparison repeats both, so that nobody has to look the record up.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parents[1] / "data"


@dataclass(frozen=True)
class CheckValue:
    """One record of the table.

    ``tolerance`` has one entry: ``rel`` (relative), ``abs`` (absolute, in ``unit``) or ``range``
    (``value`` is a low and a high end, and the result may stand that far outside).
    """

    id: str
    quantity: str
    inputs: Mapping[str, Any]
    value: Any
    unit: str
    tolerance: Mapping[str, float]
    source: str
    from_memory: bool
    computed_by: str


@cache
def check_values() -> Mapping[str, CheckValue]:
    """Return every record of the table by its id."""
    records = json.loads((DATA / "check_values.json").read_text(encoding="utf-8"))
    second = json.loads((DATA / "check_values_2.json").read_text(encoding="utf-8"))["values"]
    return {record["id"]: CheckValue(**record) for record in records} | {
        record["id"]: _second(record) for record in second
    }


def _second(record: Mapping[str, Any]) -> CheckValue:
    """Return a record of the second table: a range stands in its tolerance, inputs may be text."""
    tolerance, value = record["tolerance"], record["expected"]
    if "range" in tolerance:
        value, tolerance = tolerance["range"], {"range": 0.0}
    inputs = record["inputs"] if isinstance(record["inputs"], Mapping) else {"case": record["inputs"]}
    return CheckValue(
        record["id"],
        record["quantity"],
        inputs,
        value,
        record["unit"],
        tolerance,
        record["source"],
        "recalled" in record["status"],
        record["status"],
    )


def check_value(record_id: str) -> CheckValue:
    """Return one record; a wrong id is an error of the test, and says so."""
    table = check_values()
    if record_id not in table:
        raise KeyError(f"no check value {record_id!r} in {DATA / 'check_values.json'}")
    return table[record_id]


@cache
def verify_records() -> Sequence[Mapping[str, Any]]:
    """Return the converged 3-D solutions of tests/data/verify.json, in file order."""
    records: list[Mapping[str, Any]] = json.loads((DATA / "verify.json").read_text(encoding="utf-8"))
    return records


def assert_close(record_id: str, value: object) -> None:
    """Fail unless ``value`` (in the record's unit) agrees with the record within its tolerance.

    A list is compared entry by entry, a table by its keys; a null record wants None.
    """
    record = check_value(record_id)
    ((kind, width),) = record.tolerance.items()
    if kind == "range":
        agrees = _inside(value, record.value, width)
    else:
        agrees = _same(value, record.value, kind, width)
    memory = " (input or coefficient from memory)" if record.from_memory else ""
    assert agrees, (
        f"{record_id}: got {value!r}, expected {record.value!r} {record.unit}, tolerance {kind} {width:g}; "
        f"{record.quantity}; inputs {dict(record.inputs)}; source: {record.source}{memory}"
    )


def _inside(value: Any, ends: Sequence[float], width: float) -> bool:
    low, high = ends
    return bool(low - width <= value <= high + width)


def _same(value: Any, expected: Any, kind: str, width: float) -> bool:
    if expected is None or value is None:
        return value is expected
    if isinstance(expected, Mapping):
        return set(value) == set(expected) and all(
            _same(value[k], expected[k], kind, width) for k in expected
        )
    if isinstance(expected, list):
        return len(value) == len(expected) and all(
            _same(ours, theirs, kind, width) for ours, theirs in zip(value, expected, strict=True)
        )
    allowed = width if kind == "abs" else width * abs(expected)
    return math.isfinite(value) and abs(value - expected) <= allowed
