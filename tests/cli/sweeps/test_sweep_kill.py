"""A sweep that is killed, loses a worker, or fills its disk: nothing is lost, and the table is the same."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
import sweep_bars
from answers import told
from sweep_processes import children, environment, finish, kept, start, wait_until

from stickout.cli.sweeps.journal import journal_path

pytestmark = pytest.mark.slow

CASES = 30
# Another diameter is another mesh: cases that share nothing are solved one by one.
VARY = ("sweep", "bar.toml", "--vary=bar.diameter=14:16.9:0.1")
linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="looks into /proc")


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work where nothing else is, with the cheapest bar in it."""
    monkeypatch.chdir(tmp_path)
    sweep_bars.written()


@cache
def whole() -> bytes:
    """Return the table of a sweep that nobody stopped, made in this process."""
    done = told(*VARY, "--out=whole.csv", "--workers=1")
    assert done.code == 0, done.err
    assert len(sweep_bars.table("whole.csv")) == CASES
    return Path("whole.csv").read_bytes()


@linux
def test_killed_and_resumed_is_as_if_never_stopped() -> None:
    """Two workers, kill -9 of the main process: no worker stays, and one process can end it."""
    journal = journal_path(Path("bars.csv").resolve())
    process = start(*VARY, "--out=bars.csv", "--workers=2")
    wait_until(lambda: kept(journal) >= 3, alive=process)
    workers = children(process)
    process.kill()
    finish(process)
    assert 3 <= kept(journal) < CASES
    assert len(workers) == 2
    wait_until(lambda: not any(is_running(one) for one in workers))
    resumed = told(*VARY, "--out=bars.csv", "--workers=1", "--resume")
    assert resumed.code == 0, resumed.err
    assert f"of {CASES} cases are done" in resumed.err
    assert Path("bars.csv").read_bytes() == whole()
    assert not journal.exists()


def is_running(process: int) -> bool:
    """Return whether a process is there and no mere remnant."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@linux
def test_a_worker_that_is_killed_costs_nothing() -> None:
    """One of two workers dies by kill -9: its cases are done again, the rows are those of one process."""
    process = start(*VARY, "--out=bars.csv", "--workers=2")
    wait_until(lambda: kept(journal_path(Path("bars.csv"))) >= 3, alive=process)
    os.kill(children(process)[0], signal.SIGKILL)
    code, _, err = finish(process)
    assert (code, err) == (0, "")
    assert Path("bars.csv").read_bytes() == whole()


@linux
def test_a_full_disk_loses_nothing() -> None:
    """A file system of its own of 32 KiB: stops with one message; with room made, --resume ends it."""
    can = (
        shutil.which("unshare")
        and not subprocess.run(
            ["unshare", "-rm", "mount", "-t", "tmpfs", "tmpfs", "/mnt"], capture_output=True, check=False
        ).returncode
    )
    if not can:
        pytest.skip("this machine lets no user mount a file system of his own")
    sweep = f"{sys.executable} -m stickout.cli {VARY[0]} ../bar.toml {VARY[2]} --out=bars.csv --workers=1"
    script = f"""
        mkdir small && mount -t tmpfs -o size=32k tmpfs small && cd small
        head -c 24576 /dev/zero > filler
        {sweep}; echo "code $?"
        ls
        rm filler
        {sweep} --resume; echo "code $?"
        cp bars.csv ../bars.csv
        ls
    """
    done = subprocess.run(
        ["unshare", "-rm", "sh", "-c", script], capture_output=True, text=True, env=environment(), check=False
    )
    first, second = done.stdout.split("code 2\n")
    assert first == ""
    assert second.startswith("bars.csv.journal\nfiller\n"), done.stderr
    assert second.endswith("code 0\nbars.csv\n"), done.stderr
    assert "no room left" in done.stderr
    assert "--resume" in done.stderr
    assert Path("bars.csv").read_bytes() == whole()
