"""Tables written in groups, and journals that a kill has torn."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
import setups

from stickout.cli.sweeps import table
from stickout.cli.sweeps.journal import journal_of, journal_path
from stickout.cli.sweeps.plan import Plan, plan_of
from stickout.cli.sweeps.values import axes_of
from stickout.fem.setup.file import parse_tables

COLUMNS = ["status", "note_hz"]


def plan() -> Plan:
    """Return a plan of four cases."""
    tables = parse_tables(setups.ROUND)
    return plan_of(tables, axes_of(("bar.overhang=40:70:10",)), paired=False, cases=None, seed=1)


def kept(out: Path, torn: bytes) -> dict[int, float]:
    """Return what a journal holds that was torn in its last line, gone on with, and read once more."""
    with (
        suppress(KeyboardInterrupt),
        journal_of(plan(), out, columns=COLUMNS, code="a", resume=False) as one,
    ):
        one.add(0, {"status": "done", "note_hz": 100.0})
        raise KeyboardInterrupt
    path = journal_path(out)
    path.write_bytes(path.read_bytes() + torn)
    with (
        suppress(KeyboardInterrupt),
        journal_of(plan(), out, columns=COLUMNS, code="a", resume=True) as one,
    ):
        assert set(one.done) == {0}
        one.add(1, {"status": "done", "note_hz": 200.0})
        raise KeyboardInterrupt
    assert path.read_bytes().endswith(b"\n")
    with (
        suppress(KeyboardInterrupt),
        journal_of(plan(), out, columns=COLUMNS, code="a", resume=True) as one,
    ):
        found = {number: row["note_hz"] for number, row in one.rows(one.done)}
        raise KeyboardInterrupt
    return found


@pytest.mark.parametrize(
    "torn",
    [
        b'[1,["done",2',  # cut in the middle
        b'[1,["done",7.0]]',  # all of it but the end of the line: whoever reads it cannot know it is whole
        b'[1,["done",' + b"9" * 400,  # longer than the line that takes its place
    ],
)
def test_a_torn_line_leaves_nothing_behind(tmp_path: Path, torn: bytes) -> None:
    """What was finished is kept, what was torn is done again, and no rest of it follows the new line."""
    assert kept(tmp_path / "bars.csv", torn) == {0: 100.0, 1: 200.0}


def test_more_rows_than_one_group_are_each_written_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Groups of three, eight rows: read back by the format's own reader."""
    parquet = pytest.importorskip("pyarrow.parquet")
    monkeypatch.setattr(table, "_GROUP", 3)
    rows = [{"case": n, "note_hz": 100.0 + n} for n in range(8)]
    table.write_parquet(iter(rows), tmp_path / "bars.parquet", columns=["case", "note_hz"])
    assert parquet.read_table(tmp_path / "bars.parquet").to_pylist() == rows
