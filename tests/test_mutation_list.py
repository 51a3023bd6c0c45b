"""The list of planted faults: each has a line to be planted in, and tests that are there to notice it."""

from __future__ import annotations

import tomllib

import house
from house import assert_none


def test_every_planted_fault_has_its_place() -> None:
    """A line that was moved or rewritten would make the mutation run say STALE, and nobody runs it daily."""
    text = (house.ROOT / "tests" / "benchmarks" / "mutations.toml").read_text(encoding="utf-8")
    listed = tomllib.loads(text)["fault"]
    assert len(listed) >= 44  # as many as the whole suite once let pass
    faults = []
    for one in listed:
        file = house.ROOT / one["path"]
        if not file.is_file() or one["old"] not in file.read_text(encoding="utf-8"):
            faults.append(f"{one['path']}: {one['old']!r} is not there")
        if one["old"] == one["new"]:
            faults.append(f"{one['path']}: {one['old']!r} is no fault")
        missing = [name for name in one["tests"] if not (house.ROOT / name.partition("::")[0]).is_file()]
        faults += [f"{one['path']}: {name} is not there" for name in missing]
    assert_none(faults)
