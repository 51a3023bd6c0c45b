"""A journal is believed line by line, by its checksum; what somebody changed is refused by its line."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import setups

from stickout.cli.sweeps.journal import journal_of, journal_path
from stickout.cli.sweeps.plan import Plan, plan_of
from stickout.cli.sweeps.values import axes_of
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_tables

COLUMNS = ("spring", "reason")


def _plan() -> Plan:
    axes = axes_of(["bar.overhang=60,70,80"])
    return plan_of(parse_tables(setups.ROUND), axes, paired=False, cases=None, seed=1)


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """Return a table to be, whose journal holds two of three cases."""
    out = tmp_path / "bars.csv"

    def stopped() -> None:
        with journal_of(_plan(), out, columns=COLUMNS, code="1", resume=False) as one:
            one.add(0, {"spring": 1.25, "reason": ""})
            one.add(2, {"spring": 3.5, "reason": "of \u00f8 16"})
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    return out


def test_a_sound_journal_is_believed(kept: Path) -> None:
    """Both cases come back as they were kept, also after a torn line."""
    with journal_path(kept).open("ab") as file:
        file.write(b"[1,[9.0,")
    with journal_of(_plan(), kept, columns=COLUMNS, code="1", resume=True) as one:
        assert dict(one.rows([0, 2])) == {
            0: {"spring": 1.25, "reason": ""},
            2: {"spring": 3.5, "reason": "of \u00f8 16"},
        }


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("1.25", "1.26", 2),
        ("[0,", "[1,", 2),
        ("3.5", "35", 3),
        ('"of', '"off', 3),
        ("[2,[3.5", "[true,[3.5", 3),
        ("[2,[3.5,", "[2,[", 3),
        ("[0,", "[7,", 2),
        ("1.25", "[" * 3000, 2),
        ("1.25", "not json", 2),
        ('"cases":3', '"cases":4', 1),
    ],
)
def test_an_altered_line_is_refused_by_its_number(kept: Path, old: str, new: str, line: int) -> None:
    """A digit, a case's number, a value too few: told with file and line; the journal stays."""
    path = journal_path(kept)
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with (
        pytest.raises(InputError, match=f"line {line} was altered") as caught,
        journal_of(_plan(), kept, columns=COLUMNS, code="1", resume=True),
    ):
        pass
    assert str(path) in str(caught.value)
    assert path.exists()


def test_a_removed_folder_is_told_at_once(tmp_path: Path) -> None:
    """The next case is not written into the void."""
    folder = tmp_path / "sweep"
    folder.mkdir()

    def sweep() -> None:
        with journal_of(_plan(), folder / "bars.csv", columns=COLUMNS, code="1", resume=False) as one:
            one.add(0, {"spring": 1.0, "reason": ""})
            shutil.rmtree(folder)
            one.add(1, {"spring": 1.0, "reason": ""})

    with pytest.raises(InputError, match="was removed while"):
        sweep()
