"""Sweeps in processes of their own, a small Dask cluster, and waiting for a journal to grow."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
PATIENCE_S = 240.0  # a busy machine with two cores; nothing here waits that long when all is well


def environment(**more: str) -> dict[str, str]:
    """Return the environment of a process that runs this very source."""
    return {**os.environ, "OMP_NUM_THREADS": "1", **more}


def start(*words: str, env: dict[str, str] | None = None) -> subprocess.Popen[str]:
    """Start ``stickout`` with these words in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "stickout.cli", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=env or environment(),
    )


def finish(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    """Return exit code, answer and messages of a process."""
    out, err = process.communicate(timeout=PATIENCE_S)
    return process.returncode, out, err


def wait_until(true: Callable[[], bool], *, alive: subprocess.Popen[Any] | None = None) -> None:
    """Wait until something holds; fail when it never does, or when a process ends before."""
    deadline = time.monotonic() + PATIENCE_S
    while not true():
        assert alive is None or alive.poll() is None, alive.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.02)


def kept(journal: Path) -> int:
    """Return how many whole cases a journal holds."""
    return max(journal.read_bytes().count(b"\n") - 1, 0) if journal.exists() else 0


def children(process: subprocess.Popen[str]) -> list[int]:
    """Return the worker processes that a sweep has started; Linux only."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                stat, line = (entry / "stat").read_text(), (entry / "cmdline").read_bytes()
            except OSError:
                continue  # it has just ended
            parent = int(stat.rpartition(")")[2].split()[1])
            if parent == process.pid and b"spawn_main" in line:
                found.append(int(entry.name))
    return found


class Cluster:
    """A scheduler of this machine; ``processes`` are itself and its workers."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.processes: list[subprocess.Popen[str]] = []
        note = folder / "scheduler.json"
        few = {"DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "1"}
        words = ("--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(note))
        self.scheduler = self._dask("scheduler", *words, env=few)
        wait_until(lambda: note.exists() and note.read_text().endswith("}"), alive=self.scheduler)
        self.address = str(json.loads(note.read_text())["address"])

    def workers(self, count: int, *more: str, env: dict[str, str] | None = None) -> subprocess.Popen[str]:
        """Start workers as the README does, and wait until they have joined."""
        from distributed import Client

        words = (
            "--nworkers",
            str(count),
            "--nthreads",
            "1",
            "--no-dashboard",
            "--local-directory",
            "workers",
        )
        found = self._dask("worker", self.address, *words, *more, env=env or {})
        with Client(self.address, timeout=PATIENCE_S, set_as_default=False) as client:
            client.wait_for_workers(count, timeout=PATIENCE_S)
        return found

    def _dask(self, *words: str, env: dict[str, str]) -> subprocess.Popen[str]:
        """Start a Dask command."""
        command = Path(sys.executable).parent / "dask"
        process = subprocess.Popen(
            [str(command), *words],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            text=True,
            env=environment(**env),
            cwd=self._folder,
        )
        self.processes.append(process)
        return process


@contextmanager
def cluster(folder: Path) -> Iterator[Cluster]:
    """Yield a scheduler; after the block it and its workers are gone."""
    folder.mkdir(exist_ok=True)
    found = Cluster(folder)
    try:
        yield found
    finally:
        stop(found.processes[::-1])


def stop(processes: Sequence[subprocess.Popen[str]]) -> None:
    """End processes and wait for it."""
    for process in processes:
        process.terminate()
    for process in processes:
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
