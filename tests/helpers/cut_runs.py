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


@cache
@kept
def cut_of(name: str, *changes: str) -> tuple[Told, dict[str, Any]]:
    """Return the answer and the result file of ``cut`` on an example, some keys changed."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "cut.json"
        sets = [f"--set={change}" for change in changes]
        answer = told("cut", EXAMPLES / f"{name}.toml", "--more", "--json", target, *sets)
        assert answer.code == 0, answer.err
        answer = answer._replace(out=answer.out.partition(f"{FOOT[1]}\n\n")[2])  # what follows the screen
        return answer, json.loads(target.read_text(encoding="utf-8"))
