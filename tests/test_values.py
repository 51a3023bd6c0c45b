"""The table of check values itself: well formed, and it holds every id that the tests name."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from values import DATA, CheckValue, assert_close, check_value, verify_records

TESTS = Path(__file__).parent
TOLERANCES = {"rel", "abs", "range"}


def named_ids() -> Iterator[tuple[str, str]]:
    """Yield each literal id passed to check_value or assert_close, with its file and line."""
    for path in sorted(TESTS.rglob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                if name in {"check_value", "assert_close"}:
                    yield str(node.args[0].value), f"{path.relative_to(TESTS)}:{node.lineno}"


def test_every_id_named_by_a_test_is_in_the_table(check_table: Mapping[str, CheckValue]) -> None:
    """A misspelt id would otherwise show only when its test runs, or never under a filter."""
    missing = [f"{place}: {name}" for name, place in named_ids() if name not in check_table]
    missing = [line for line in missing if "no.such.id" not in line]
    assert not missing, "\n".join(missing)


def test_ids_are_unique() -> None:
    """Two records with one id: the second would silently replace the first."""
    ids = [record["id"] for record in json.loads((DATA / "check_values.json").read_text(encoding="utf-8"))]
    assert len(ids) == len(set(ids))
    # One letter per section of the physics dossier; x are cross checks between sections.
    assert {name.split(".")[0] for name in ids} == set("abcdefghijx")


def test_records_are_well_formed(check_table: Mapping[str, CheckValue]) -> None:
    """Each record has a source, a unit and one tolerance that means something for its value."""
    faults = []
    for record in check_table.values():
        ((kind, width),) = record.tolerance.items()
        # A relative tolerance of one would let zero pass.
        if kind not in TOLERANCES or width < 0.0 or (kind == "rel" and not 0.0 < width < 1.0):
            faults.append(f"{record.id}: tolerance {record.tolerance}")
        if kind == "range" and not (len(record.value) == 2 and record.value[0] <= record.value[1]):
            faults.append(f"{record.id}: a range wants a low and a high end, got {record.value}")
        if kind == "rel" and record.value == 0.0:
            faults.append(f"{record.id}: a relative tolerance of zero allows nothing")
        faults += [
            f"{record.id}: no {name}" for name in ("quantity", "unit", "source") if not getattr(record, name)
        ]
    assert not faults, "\n".join(faults)


def test_a_result_just_outside_the_tolerance_fails_with_the_source() -> None:
    """Stiffness 40.32 N/um of the 12 x 12 x 30 mm shank, relative tolerance 1e-6 [e.S12.L30.k]."""
    assert_close("e.S12.L30.k", 40.32 * (1 + 0.9e-6))
    with pytest.raises(AssertionError, match=re.escape("source: 3EI/L^3")):
        assert_close("e.S12.L30.k", 40.32 * (1 + 1.1e-6))
    with pytest.raises(AssertionError, match="got nan"):
        assert_close("e.S12.L30.k", float("nan"))


def test_absolute_range_and_null_records() -> None:
    """An absolute record, a low-high record and a null record each accept and refuse."""
    assert_close("b.u.beta70.alpha90", 0.5e-9)
    assert_close("j.eta.steel", 1e-4)
    assert_close("c.pd.blim.L0.02.v10", None)
    assert_close("j.iso.bar", [8, 10, 12, 16, 20, 25, 32, 40, 50, 60])
    for name, wrong in (
        ("b.u.beta70.alpha90", 2e-9),
        ("j.eta.steel", 4e-4),
        ("c.pd.blim.L0.02.v10", 1.0),
        ("j.iso.bar", [8, 10]),
    ):
        with pytest.raises(AssertionError, match=re.escape(name)):
            assert_close(name, wrong)


def test_an_unknown_id_is_an_error() -> None:
    """The look-up never answers with nothing."""
    with pytest.raises(KeyError, match=r"no\.such\.id"):
        check_value("no.such.id")


def test_verify_records_hold_what_the_comparison_needs() -> None:
    """Frequencies rise, none is free of an error estimate, and each set-up is TOML text."""
    records = verify_records()
    assert len(records) >= 6
    for record in records:
        frequencies = record["frequencies_hz"]
        assert frequencies == sorted(frequencies), record["id"]
        # A record is of use only where its own error lies well inside the tolerance asked of us.
        assert 0.0 < record["error_estimate"] < record["tolerance"], record["id"]
        assert "[bar]" in record["setup"], record["id"]
