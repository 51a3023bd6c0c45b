"""A terminate signal or a closed window ends a command as Ctrl-C does; what died before is cleared."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from stickout.cli.folders import FolderTarget, check_folder
from stickout.cli.outputs import writing
from stickout.cli.run import Job, StopError, run, stopping_cleanly

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs the signals of POSIX")

# A command that writes, and is stopped by a signal from outside in the middle of it.
STOPPED_SCRIPT = """
import os, signal, sys
from pathlib import Path
from stickout.cli.outputs import writing
from stickout.cli.run import Job, run, stopping_cleanly

def work():
    with writing(Path("film.gif"), key="--out") as part:
        part.write_bytes(b"half")
        os.kill(os.getpid(), getattr(signal, sys.argv[1]))
        signal.pause()

with stopping_cleanly():
    code = run(lambda: Job(work))
raise SystemExit(code)
"""


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_a_stop_leaves_nothing(tmp_path: Path, name: str) -> None:
    """No hidden part, one word, and the exit code that shells give to a program stopped so."""
    done = subprocess.run(
        [sys.executable, "-c", STOPPED_SCRIPT, name],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stderr == "Stopped.\n"
    assert done.returncode == 128 + getattr(signal, name)
    assert list(tmp_path.iterdir()) == []


def test_handlers_are_put_back_and_ignored_ones_stay() -> None:
    """A program run under nohup does not end with its window; a caller's own handlers are not touched."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with stopping_cleanly():
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
            assert signal.getsignal(signal.SIGTERM) is not signal.SIG_DFL
        assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL
    finally:
        signal.signal(signal.SIGHUP, before)


def test_the_code_of_a_stop() -> None:
    """143 is what a shell shows after a terminate signal."""

    def stop() -> None:
        raise StopError(signal.SIGTERM)

    assert run(lambda: Job(stop)) == 143


def test_parts_of_dead_processes_are_cleared(tmp_path: Path) -> None:
    """The next run of the same output removes them; those of a living process and other files stay."""
    child = subprocess.Popen([sys.executable, "-c", ""])
    child.wait()
    dead, alive = child.pid, os.getppid()
    gone = [tmp_path / f".film.{dead}.part.gif", tmp_path / f".pack.{dead}.part"]
    kept = [
        tmp_path / f".film.{alive}.part.gif",
        tmp_path / f".other.{dead}.part.gif",
        tmp_path / ".film.x.part.gif",
        tmp_path / "film.part.gif",
    ]
    gone[1].mkdir()
    (gone[1] / "half.gif").touch()
    for one in (gone[0], *kept):
        one.touch()
    with writing(tmp_path / "film.gif", key="--out") as part:
        part.write_bytes(b"whole")
    check_folder(FolderTarget(tmp_path / "pack", re.compile("x")))
    assert {one.name for one in tmp_path.iterdir()} == {"film.gif", *(one.name for one in kept)}
