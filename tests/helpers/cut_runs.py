"""Runs of ``cut`` on the examples: what it tells at length, and its result file."""

from __future__ import annotations

import json
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from answers import EXAMPLES, Told, told
from kept import kept

from stickout.cli.text.screen import FOOT

_ENDS = f"{FOOT[1]}\n\n"  # the screen; what is left follows a blank line


@cache
@kept
def run_of(name: str, *changes: str) -> tuple[Told, dict[str, Any]]:
    """Return what ``cut --more`` gives on an example, some keys changed: answer, result file."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "cut.json"
        sets = [f"--set={change}" for change in changes]
        answer = told("cut", EXAMPLES / f"{name}.toml", "--more", "--json", target, *sets)
        assert answer.code == 0, answer.err
        return answer, json.loads(target.read_text(encoding="utf-8"))


def screen_of(name: str) -> Told:
    """Return the answer of ``cut`` on an example: the one screen."""
    done = run_of(name)[0]
    return done._replace(out=f"{done.out.partition(_ENDS)[0]}{_ENDS[:-1]}")


def cut_of(name: str, *changes: str) -> tuple[Told, dict[str, Any]]:
    """Return what ``cut --more`` tells on an example after the screen, and the result file."""
    done, record = run_of(name, *changes)
    return done._replace(out=done.out.partition(_ENDS)[2]), record
