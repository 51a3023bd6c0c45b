"""The command ``sweep`` in this process: the table, its rows, what is kept when it stops, what it refuses."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest
import setups
import sweep_bars
from answers import told

import stickout.cli.sweeps.engine as engine
import stickout.cli.sweeps.run as running
import stickout.cli.sweeps.work as work
from stickout.cli.sweeps.journal import journal_path
from stickout.fem.sweep.batches import Batch, Outcome, solve_batch

HERE = "--workers=1"
FOUR = ("--vary=bar.overhang=60:90:10", "--out=bars.csv", HERE)


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work where nothing else is, with the cheapest bar in it."""
    monkeypatch.chdir(tmp_path)
    sweep_bars.written()


def test_a_table_with_a_row_a_case() -> None:
    """Beam theory: a slender bar's spring goes with the overhang cubed, its note with the inverse square."""
    done = told("sweep", "bar.toml", "--vary=bar.overhang=120:160:40", "--out=bars.csv", HERE)
    assert (done.code, done.err) == (0, "")
    short, long = sweep_bars.table("bars.csv")
    assert [short["case"], short["bar.overhang"], short["status"], short["units"]] == [
        "1",
        "120",
        "done",
        "mm",
    ]
    # Euler-Bernoulli (Timoshenko 1921, recalled); at 7.5 diameters shear takes a per cent of it.
    assert float(long["spring_um_per_10n"]) / float(short["spring_um_per_10n"]) == pytest.approx(
        (160 / 120) ** 3, rel=0.01
    )
    assert float(long["note_hz"]) / float(short["note_hz"]) == pytest.approx((120 / 160) ** 2, rel=0.01)
    assert float(short["overhang_over_size"]) == 7.5
    stiffness = float(short["stiffness_n_per_um"])
    assert float(short["spring_um_per_10n"]) * stiffness == pytest.approx(10.0, rel=1e-6)
    assert short["mode_1_hz"] == short["note_hz"]
    assert short["margin"] == ""
    assert not journal_path(Path("bars.csv")).exists()


def test_a_finished_sweep_resumed_does_no_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is solved and the table is not touched; another bar, or a table that was altered, is solved."""
    vary = ("--vary=bar.overhang=120:160:40", "--out=bars.csv", HERE)
    assert told("sweep", "bar.toml", *vary).code == 0
    table, real, solved = Path("bars.csv").read_bytes(), running._solve, []

    def counted(*things: Any) -> None:
        solved.append(1)
        real(*things)

    monkeypatch.setattr(running, "_solve", counted)
    done = told("sweep", "bar.toml", *vary, "--resume")
    assert (done.code, done.err, solved) == (0, "", [])
    assert "All 2 cases are done, and bars.csv holds them: nothing to do." in done.out
    assert Path("bars.csv").read_bytes() == table
    assert not journal_path(Path("bars.csv")).exists()
    assert told("sweep", "bar.toml", *vary, "--resume", "--set=bar.diameter=15").code == 0
    assert len(solved) == 1
    Path("bars.csv").write_text("altered", encoding="utf-8")
    assert told("sweep", "bar.toml", *vary, "--resume").code == 0
    assert len(solved) == 2
    assert Path("bars.csv").read_bytes() == table


def test_the_same_rows_in_both_formats() -> None:
    """CSV and Parquet hold the same values in the same columns and order."""
    vary = ("--vary=bar.overhang=70,80", "--vary=bar.material=steel,heavy tungsten")
    done = told("sweep", "bar.toml", *vary, "--out=bars.csv", "--out=bars.parquet", HERE)
    assert (done.code, done.err) == (0, "")
    whole = pq.read_table("bars.parquet")
    rows = sweep_bars.table("bars.csv")
    assert whole.column_names == list(rows[0])
    assert [row["bar.material"] for row in rows] == ["steel", "heavy tungsten"] * 2
    for text, row in zip(rows, whole.to_pylist(), strict=True):
        for name, value in row.items():
            assert text[name] == shown(value), name


def shown(value: Any) -> str:
    """Return what the CSV must show for a value of the other file."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return value if isinstance(value, str) else f"{value:.7g}"


def test_a_cut_brings_margin_and_limit() -> None:
    """The row says what ``cut`` says of the same set-up: margin and chatter's note."""
    text = sweep_bars.BAR.replace('style = "rigid"', 'style = "rigid"' + setups.CUT)
    name = sweep_bars.written(text, "cut.toml")
    done = told("sweep", name, "--vary=cut.nose_radius=0.2,0.4", "--out=cuts.csv", HERE)
    assert (done.code, done.err) == (0, "")
    row = sweep_bars.table("cuts.csv")[1]
    alone = told("cut", name, "--json=-")
    record = json.loads(alone.out)["cut"]
    assert float(row["margin"]) == pytest.approx(record["margin"]["likely"], rel=1e-6)
    assert float(row["margin_low"]) == pytest.approx(record["margin"]["low"], rel=1e-6)
    assert float(row["chatter_hz"]) == pytest.approx(record["chatter_hz"], rel=1e-6)
    limit = record["depth_limit_mm"]["likely"]
    assert float(row["depth_limit_mm"]) == pytest.approx(math.inf if limit is None else limit, rel=1e-6)


def test_a_case_at_fault_is_a_row_with_its_reason() -> None:
    """The others go on, and the exit code is that of a sweep that was done."""
    done = told("sweep", "bar.toml", "--vary=bar.overhang=-5,80", "--out=bars.csv", HERE)
    assert done.code == 0, done.err
    bad, good = sweep_bars.table("bars.csv")
    assert (bad["status"], good["status"]) == ("failed", "done")
    assert "bar.overhang is -5" in bad["reason"]
    assert (bad["note_hz"], bad["units"]) == ("", "mm")


def stop_after(cases: int, error: type[BaseException]) -> object:
    """Return a stand-in for ``solve_batch`` that raises after so many cases."""
    left = [cases]

    def solve(batch: Batch, *, done: Any = ()) -> Iterator[Outcome]:
        for outcome in solve_batch(batch, done=done):
            if left[0] == 0:
                raise error
            left[0] -= 1
            yield outcome

    return solve


def test_what_is_done_stays_when_it_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C in the third case: exit code 130, two cases kept; resumed, the table is the same."""
    assert told("sweep", "bar.toml", "--vary=bar.overhang=60:90:10", "--out=whole.csv", HERE).code == 0
    with monkeypatch.context() as patch:
        patch.setattr(work, "solve_batch", stop_after(2, KeyboardInterrupt))
        stopped = told("sweep", "bar.toml", *FOUR)
    assert stopped.code == 130
    assert "2 of 4 cases are finished" in stopped.err
    assert "--resume" in stopped.err
    assert not Path("bars.csv").exists()
    refused = told("sweep", "bar.toml", *FOUR)
    assert refused.code == 2
    assert "holds 2 of 4 cases" in refused.err
    assert "--resume" in refused.err
    journal = journal_path(Path("bars.csv"))
    with journal.open("ab") as file:
        file.write(b'[3,["done",nu')  # a line torn by kill -9
    again = told("sweep", "bar.toml", *FOUR, "--resume")
    assert again.code == 0
    assert "2 of 4 cases are done" in again.err
    assert Path("bars.csv").read_bytes() == Path("whole.csv").read_bytes()
    assert not journal.exists()


def test_the_journal_of_another_plan_is_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """Other values, another version, no journal at all: refused with what differs, nothing overwritten."""
    with monkeypatch.context() as patch:
        patch.setattr(work, "solve_batch", stop_after(2, KeyboardInterrupt))
        told("sweep", "bar.toml", *FOUR)
    kept = journal_path(Path("bars.csv")).read_bytes()
    other = told("sweep", "bar.toml", "--vary=bar.overhang=60:100:10", *FOUR[1:], "--resume")
    assert (other.code, "another --vary" in other.err) == (2, True), other.err
    changed = told("sweep", "bar.toml", *FOUR, "--set=bar.diameter=17", "--resume")
    assert (changed.code, "another set-up" in changed.err) == (2, True), changed.err
    with monkeypatch.context() as patch:
        patch.setattr(running, "code", lambda: running.Code("9.9", "x", "3", "2"))
        version = told("sweep", "bar.toml", *FOUR, "--resume")
    assert (version.code, "another version" in version.err) == (2, True), version.err
    assert journal_path(Path("bars.csv")).read_bytes() == kept
    journal_path(Path("bars.csv")).write_text("shopping list\n", encoding="utf-8")
    foreign = told("sweep", "bar.toml", *FOUR, "--resume")
    assert (foreign.code, "another kind of journal" in foreign.err) == (2, True), foreign.err
    assert journal_path(Path("bars.csv")).read_text(encoding="utf-8") == "shopping list\n"


def test_two_sweeps_do_not_write_one_table() -> None:
    """The lock lies on the journal and goes with its holder."""
    from stickout.cli.sweeps.journal import _locked

    with _locked(journal_path(Path("bars.csv"))):
        done = told("sweep", "bar.toml", *FOUR)
    assert done.code == 2
    assert "another sweep is writing" in done.err
    assert told("sweep", "bar.toml", *FOUR).code == 0  # an empty journal without a holder is nothing


def test_a_fault_inside_a_case_is_its_row_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """A singular matrix, say: the case fails with what went wrong, its fellows do not."""

    def solve(batch: Batch, *, done: Any = ()) -> Iterator[Outcome]:
        for outcome in solve_batch(batch, done=done):
            if outcome.number == 1:
                raise ZeroDivisionError("no pivot")
            yield outcome

    monkeypatch.setattr(work, "solve_batch", solve)
    done = told("sweep", "bar.toml", *FOUR)
    rows = sweep_bars.table("bars.csv")
    assert done.code == 0, done.err
    assert [row["status"] for row in rows] == ["done", "failed", "done", "done"]
    assert rows[1]["reason"] == "ZeroDivisionError: no pivot"


def test_without_the_extra_packages(monkeypatch: pytest.MonkeyPatch) -> None:
    """No Dask and no Parquet: said with the line that installs them; a CSV table is made all the same."""
    monkeypatch.setattr(engine, "_installed", lambda package: False)
    vary = "--vary=bar.diameter=14:17:0.2"
    for words in (
        ("--out=b.parquet",),
        ("--out=b.csv", "--workers=2"),
        ("--out=b.csv", "--cluster=tcp://127.0.0.1:9"),
    ):
        done = told("sweep", "bar.toml", vary, *words)
        assert (done.code, "pip install '.[sweep]'" in done.err) == (2, True), done.err
    assert told("sweep", "bar.toml", vary, "--out=b.csv").code == 0
    assert len(sweep_bars.table("b.csv")) == 16


@pytest.mark.parametrize(
    ("words", "key", "parts"),
    [
        (("--out=b.csv",), "--vary", ("missing",)),
        (("--vary=bar.overhand=1,2", "--out=b.csv"), "--vary", ("'bar.overhang'",)),
        (("--vary=bar.overhang=120:40:5", "--out=b.csv"), "--vary", ("empty",)),
        (
            ("--vary=bar.overhang=40:140:0.00001", "--out=b.csv"),
            "--vary",
            ("10 000 001 cases", "--yes", "days"),
        ),
        (("--vary=bar.overhang=-2,-1", "--out=b.csv"), "--vary", ("none has a set-up", "bar.overhang is -2")),
        (("--vary=bar.overhang=1,2", "--out=b.txt"), "--out", (".csv", ".parquet")),
        (("--vary=bar.overhang=1,2", "--out=no/such/b.csv"), "--out", ("folder",)),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--out=./b.csv"), "--out", ("another file",)),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--workers=0"), "--workers", ("1 or above",)),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--cluster=box:1"), "--cluster", ("tcp://host:port",)),
        (
            ("--vary=bar.overhang=1,2", "--out=b.csv", "--cluster=tcp://a:1", "--workers=2"),
            "--workers",
            ("without --cluster",),
        ),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--timeout=0"), "--timeout", ("above 0",)),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--plot=b.gif"), "--plot", (".svg",)),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--show=notes_hz"), "--show", ("'note_hz'",)),
        (("--vary=bar.overhang=1,2", "--out=b.csv", "--limit=margin"), "--limit", ("column=number",)),
        (
            (
                *(f"--vary={key}=1,2" for key in ("bar.overhang", "bar.diameter", "edge.mass_g")),
                "--out=b.csv",
                "--plot=b.png",
            ),
            "--plot",
            ("at most two",),
        ),
        (
            ("--vary=bar.overhang=1,2", "--vary=bar.diameter=1,2,3", "--paired", "--out=b.csv"),
            "--paired",
            ("bar.overhang 2, bar.diameter 3",),
        ),
    ],
)
def test_what_it_refuses(words: tuple[str, ...], key: str, parts: tuple[str, ...]) -> None:
    """Exit code 2, one line with key, value and remedy, and nothing is written."""
    done = told("sweep", "bar.toml", *words)
    assert (done.code, done.out) == (2, "")
    lines = done.err.splitlines()
    assert len(lines) == 1, done.err
    assert lines[0].startswith(f"{key} is "), lines[0]
    assert [part for part in parts if part not in lines[0]] == [], lines[0]
    assert [one.name for one in Path().iterdir()] == ["bar.toml"]
