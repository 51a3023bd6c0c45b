"""The command line run inside the test's own process: exit code, standard output, standard error."""

from __future__ import annotations

import contextlib
import io
import json
import tempfile
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from kept import kept

import stickout.cli.__main__ as command_line

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
_MORE = "Everything else: --more\n\n"  # ends the screen; what is left follows a blank line


class Told(NamedTuple):
    """What a command gave: exit code, answer, messages."""

    code: int
    out: str
    err: str


def told(*words: object) -> Told:
    """Run the command line with these words."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = command_line.main([str(word) for word in words])
    return Told(code, out.getvalue(), err.getvalue())


@cache
@kept
def run_of(name: str, *changes: str) -> tuple[Told, dict[str, Any]]:
    """Return what ``modes`` gives on an example, some keys changed: answer and result file. Solved once."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "result.json"
        sets = [f"--set={change}" for change in changes]
        done = told("modes", EXAMPLES / f"{name}.toml", "--more", "--json", target, *sets)
        assert done.code == 0, done.err
        return done, json.loads(target.read_text(encoding="utf-8"))


def answer_of(name: str, *changes: str) -> Told:
    """Return the answer of ``modes`` on an example: the one screen."""
    done = run_of(name, *changes)[0]
    return done._replace(out=f"{done.out.partition(_MORE)[0]}{_MORE[:-1]}")


def more_of(name: str, *changes: str) -> str:
    """Return what ``modes --more`` tells on an example after the screen."""
    return run_of(name, *changes)[0].out.partition(_MORE)[2]


def result_of(name: str, *changes: str) -> dict[str, Any]:
    """Return the result file of ``modes`` on an example."""
    return run_of(name, *changes)[1]


def spring(record: dict[str, Any]) -> float:
    """Return the static deflection along the force per force [m/N] of a result file."""
    push, rows = record["force"]["direction"], record["static"]["compliance_m_per_n"]
    return float(sum(push[i] * rows[i][j] * push[j] for i in range(3) for j in range(3)))
