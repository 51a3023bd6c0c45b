"""The result file: every key of the contract, and numbers that agree with each other."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import pytest
from answers import result_of

Number = (int, float)
# The contract of the result file: key -> what it holds. A tuple is a choice of types, a dict a
# table, a list of one a list of such. Keys beyond these are allowed.
MODE: dict[str, Any] = {
    "number": int,
    "frequency_hz": float,
    "frequency_error": float,
    "kind": str,
    "direction": [Number],
    "pair": ([int], None),
    "modal_mass_kg": (float, None),
    "modal_stiffness_n_per_m": (float, None),
    "loss_factor": float,
    "damping_ratio": float,
    "energy_shares": {"bar": float},
    "alignment": float,
}
CONTRACT: dict[str, Any] = {
    "tool": str,
    "version": str,
    "title": str,
    "setup": {"bar": {"overhang_m": float}, "grip": {"style": str}, "units": str},
    "mesh": {"cells": int, "nodes": int, "unknowns": int},
    "assumptions": [
        {"name": str, "value": Number, "low": Number, "high": Number, "unit": str, "source": str},
    ],
    "modes": [MODE],
    "static": {"compliance_m_per_n": [[float]], "compliance_error": [[float]]},
    "hand_check": {"what": str, "frequency_hz": float, "difference": float},
    "aligned_mode": int,
    "limiting_mode": (int, None),
    "cut": (dict, None),
    "warnings": [str],
}


def faults(value: Any, wanted: Any, path: str = "result") -> list[str]:
    """Return where a value departs from what the contract wants."""
    if isinstance(wanted, tuple):
        return [] if any(not faults(value, one, path) for one in wanted) else [f"{path} is {value!r}"]
    if wanted is None or isinstance(wanted, type):
        same = value is None if wanted is None else isinstance(value, wanted) and not isinstance(value, bool)
        return [] if same else [f"{path} is {value!r}"]
    if isinstance(wanted, list):
        if not isinstance(value, list):
            return [f"{path} is no list"]
        return [one for at, item in enumerate(value) for one in faults(item, wanted[0], f"{path}.{at}")]
    if not isinstance(value, Mapping):
        return [f"{path} is no table"]
    missing = [f"{path}.{key} is missing" for key in wanted if key not in value]
    return missing + [
        one for key in wanted if key in value for one in faults(value[key], wanted[key], f"{path}.{key}")
    ]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["boring_bar_16mm", "turning_tool_12mm", "inch_bar"])
def test_the_result_file_keeps_the_contract(name: str) -> None:
    """Every key of the contract is there and holds what it says."""
    record = result_of(name)
    assert faults(record, CONTRACT) == []
    assert (record["tool"], record["version"]) == ("stickout", "0.1.0")


def test_the_checker_of_the_contract_finds_faults() -> None:
    """A missing key, a wrong type and a wrong entry deep inside are each found."""
    sound = json.loads(json.dumps(result_of("boring_bar_16mm")))
    for path, value in (
        (("mesh",), None),
        (("modes", 0, "kind"), 3),
        (("static", "compliance_m_per_n"), [[1]]),
    ):
        record: Any = json.loads(json.dumps(sound))
        inner = record
        for step in path[:-1]:
            inner = inner[step]
        inner[path[-1]] = value
        assert len(faults(record, CONTRACT)) == 1
    del sound["modes"][0]["alignment"]
    assert faults(sound, CONTRACT) == ["result.modes.0.alignment is missing"]


@pytest.mark.parametrize("name", ["boring_bar_16mm", "flatted_bar_30deg", "pressed_top"])
def test_the_numbers_agree_with_each_other(name: str) -> None:
    """Principles: unit directions, shares that sum to 1, a symmetric compliance, a band round every value."""
    record = result_of(name)
    for number, mode in enumerate(record["modes"], start=1):
        assert mode["number"] == number
        # Exact but for rounding: the last digits of sums of squares.
        assert sum(mode["energy_shares"].values()) == pytest.approx(1.0, abs=1e-9)
        assert mode["damping_ratio"] == mode["loss_factor"] / 2
        assert 0 <= mode["alignment"] <= 1 + 1e-12
        if mode["modal_mass_kg"] is None:
            assert mode["direction"] == [0.0, 0.0, 0.0]
            continue
        assert sum(one**2 for one in mode["direction"]) == pytest.approx(1.0, abs=1e-12)
        assert next(one for one in mode["direction"] if one) > 0
        omega = 6.283185307179586 * mode["frequency_hz"]
        assert mode["modal_stiffness_n_per_m"] == pytest.approx(mode["modal_mass_kg"] * omega**2, rel=1e-12)
    notes = [mode["frequency_hz"] for mode in record["modes"]]
    assert notes == sorted(notes)
    rows = record["static"]["compliance_m_per_n"]
    largest = max(rows[i][i] for i in range(3))
    assert all(
        rows[i][j] == pytest.approx(rows[j][i], abs=1e-9 * largest) for i in range(3) for j in range(3)
    )
    assert all(one["low"] <= one["value"] <= one["high"] for one in record["assumptions"])
    best = max(record["modes"], key=lambda mode: mode["static_share"])
    assert record["aligned_mode"] == best["number"]


def test_a_pair_has_one_shape_along_the_force() -> None:
    """A round bar: the other shape of the pair does not move along the force at all."""
    first, second = result_of("boring_bar_16mm")["modes"][:2]
    assert first["pair"] == second["pair"] == [1, 2]
    # 96 %: the rest of the force points along the bar, where bending does not move.
    assert first["alignment"] == pytest.approx(0.9566, abs=1e-3)
    assert second["alignment"] == pytest.approx(0.0, abs=1e-9)
