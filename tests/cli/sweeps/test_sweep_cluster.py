"""A Dask scheduler that runs already: the same rows, the same code or a refusal, and what may go wrong."""

from __future__ import annotations

import socket
from dataclasses import replace
from pathlib import Path

import pytest
import sweep_bars
from answers import told
from sweep_processes import cluster, finish, kept, start, stop, wait_until

import stickout.cli.sweeps.members as members
from stickout.cli.fingerprint import code
from stickout.cli.sweeps.journal import journal_path

pytestmark = pytest.mark.slow

# Two families of like cases with one case in each that stands alone; and many cases that share nothing.
FAMILIES = ("sweep", "bar.toml", "--vary=bar.diameter=14,16", "--vary=bar.overhang=10,60:63:1")
LONERS = ("sweep", "bar.toml", "--vary=bar.diameter=14:17:0.2")
OUT = "--out=bars.csv"
POISON = """
import os

import stickout.cli.sweeps.work as work
from stickout.fem.sweep.batches import solve_batch


def solve(batch, *, done=()):
    for case in batch.cases:
        if case.setup.bar.overhang_mm == 62 and case.setup.bar.diameter_mm == 16 and case.number not in done:
            os._exit(9)
    yield from solve_batch(batch, done=done)


work.solve_batch = solve
"""


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work where nothing else is, with the cheapest bar in it."""
    monkeypatch.chdir(tmp_path)
    sweep_bars.written()


def test_a_cluster_gives_the_same_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No worker, one without this program, one with another version: refused; two sound ones: row for row."""
    with cluster(tmp_path / "dask") as dask:
        reach = f"--cluster={dask.address}"
        alone = told(*FAMILIES, OUT, reach, "--timeout=1")
        assert (alone.code, "no worker after 1 s" in alone.err) == (2, True), alone.err
        (tmp_path / "other" / "stickout" / "cli").mkdir(parents=True)
        (tmp_path / "other" / "stickout" / "cli" / "__init__.py").touch()
        stranger = dask.workers(1, env={"PYTHONPATH": str(tmp_path / "other")})
        lacking = told(*FAMILIES, OUT, reach)
        assert lacking.code == 2
        assert "lacks this program" in lacking.err
        assert "pip install '.[sweep]'" in lacking.err
        stop([stranger])
        dask.workers(2)
        with monkeypatch.context() as patch:
            patch.setattr(members, "code", lambda: replace(code(), version="0.0.9"))
            older = told(*FAMILIES, OUT, reach)
        assert older.code == 2
        assert f"has stickout {code().version}, here 0.0.9" in older.err
        assert "worker tcp://" in older.err
        assert not journal_path(Path("bars.csv")).exists()
        done = told(*FAMILIES, OUT, reach)
    assert (done.code, done.err) == (0, "")
    assert_as_here(*FAMILIES)


def assert_as_here(*words: str) -> None:
    """Fail unless the table is the one that this process makes."""
    here = told(*words, "--out=here.csv", "--workers=1")
    assert here.code == 0, here.err
    assert Path("bars.csv").read_bytes() == Path("here.csv").read_bytes()


def test_a_case_that_kills_its_workers_is_a_failed_row(tmp_path: Path) -> None:
    """The others go on. And then the scheduler goes away: one message, and --resume ends it here."""
    Path("poison.py").write_text(POISON, encoding="utf-8")
    with cluster(tmp_path / "dask") as dask:
        reach = f"--cluster={dask.address}"
        poisoned = dask.workers(2, "--preload", str(tmp_path / "poison.py"))
        done = told(*FAMILIES, "--out=poison.csv", reach)
        assert done.code == 0, done.err
        rows = sweep_bars.table("poison.csv")
        failed = [row for row in rows if row["status"] == "failed"]
        assert [(row["bar.diameter"], row["bar.overhang"]) for row in failed] == [("16", "62")]
        assert "died each time" in failed[0]["reason"]
        stop([poisoned])
        dask.workers(1)
        process = start(*LONERS, OUT, reach)
        wait_until(lambda: kept(journal_path(Path("bars.csv"))) >= 2, alive=process)
        dask.scheduler.kill()
        code, _, err = finish(process)
    assert code == 1
    assert "no longer answers" in err
    assert "--resume" in err
    assert "Traceback" not in err
    resumed = told(*LONERS, OUT, "--workers=1", "--resume")
    assert resumed.code == 0, resumed.err
    assert_as_here(*LONERS)


def test_a_scheduler_that_does_not_answer() -> None:
    """A port that takes the call and says nothing, and one where nobody is: a time-out with a message."""
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        busy = silent.getsockname()[1]
        told_of = told(*LONERS, OUT, f"--cluster=tcp://127.0.0.1:{busy}", "--timeout=0.5")
    assert_refused(told_of.code, told_of.err)
    nobody = told(*LONERS, OUT, f"--cluster=tcp://127.0.0.1:{busy}", "--timeout=0.5")
    assert_refused(nobody.code, nobody.err)


def assert_refused(exit_code: int, err: str) -> None:
    """Fail unless one line says that nobody answered, and nothing was written."""
    assert exit_code == 2
    assert len(err.splitlines()) == 1, err
    assert "no scheduler answered within 0.5 s" in err
    assert [one.name for one in Path().iterdir()] == ["bar.toml"]
