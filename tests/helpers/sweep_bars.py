"""The cheapest bar there is, and its sweeps: what the tests of the sweep start from."""

from __future__ import annotations

import csv
from pathlib import Path

BAR = """
units = "mm"
[bar]
section = "round"
diameter = 16
overhang = 80
material = "steel"
[grip]
style = "rigid"
[solve]
modes = 2
accuracy = 0.02
"""


def written(text: str = BAR, name: str = "bar.toml") -> str:
    """Write a set-up into the working folder and return its file's name."""
    Path(name).write_text(text, encoding="utf-8")
    return name


def table(path: str | Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file."""
    with Path(path).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
