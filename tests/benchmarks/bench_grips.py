"""What a modelled grip costs: ``modes`` on a slot and a sleeve over ``modes`` on the rigid bar, in one run.

Run it from the repository's root::

    python tests/benchmarks/bench_grips.py

Whole commands, and the study alone, at the default accuracy; processor seconds, medians of several rounds run
in turn. The issue asks for at most six.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import stickout.fem  # noqa: F401 - one thread, as the command
from stickout.fem.setup.file import parse_setup
from stickout.fem.study.study import run_study

ROUNDS = 5
ROUND = """title = "bench"
units = "mm"
[bar]
section = "round"
diameter = 16
overhang = 80
gripped = 50
material = "steel"
[grip]
"""
SQUARE = ROUND.replace('"round"\ndiameter = 16', '"square"\nwidth = 12').replace("= 80", "= 40")
SLEEVE = 'style = "sleeve"\nblock_width = 40\nblock_height = 45\nwall = 12\nblock_material = "steel"\n'
SLOT = 'style = "slot"\nscrews = 2\nscrew_diameter = 8\nscrew_spacing = 25\nfirst_screw = 12\n'
SHIM = '[shim]\nmaterial = "annealed copper"\nthickness = 0.5\n'
SET_UPS = {
    "rigid, round": ROUND + 'style = "rigid"\n',
    "sleeve": ROUND + SLEEVE,
    "rigid, square": SQUARE + 'style = "rigid"\n',
    "slot": SQUARE + SLOT,
    "slot and shim": SQUARE + SLOT + SHIM,
}
BASES = {"sleeve": "rigid, round", "slot": "rigid, square", "slot and shim": "rigid, square"}


def command_seconds(path: Path) -> float:
    """Return the processor time of the whole command."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, "-m", "stickout.cli", "modes", str(path)], check=True, stdout=subprocess.DEVNULL
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def study_seconds(text: str) -> float:
    """Return the processor time of the study alone."""
    setup = parse_setup(text).setup
    start = time.process_time()
    run_study(setup)
    return time.process_time() - start


def main() -> None:
    """Print the ratios."""
    whole: dict[str, list[float]] = {name: [] for name in SET_UPS}
    alone: dict[str, list[float]] = {name: [] for name in SET_UPS}
    with tempfile.TemporaryDirectory() as folder:
        paths = {name: Path(folder) / f"{number}.toml" for number, name in enumerate(SET_UPS)}
        for name, text in SET_UPS.items():
            paths[name].write_text(text, encoding="utf-8")
        for _ in range(ROUNDS):
            for name, text in SET_UPS.items():
                whole[name].append(command_seconds(paths[name]))
                alone[name].append(study_seconds(text))
    for name, base in BASES.items():
        ratios = [statistics.median(run[name]) / statistics.median(run[base]) for run in (whole, alone)]
        print(f"{name:14} over {base:14} command {ratios[0]:.1f}, study alone {ratios[1]:.1f}")


if __name__ == "__main__":
    main()
