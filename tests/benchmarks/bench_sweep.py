"""What do two workers bring over one? Ratios only, all measured in one run, sides taking turns.

Run from the top folder:

    OMP_NUM_THREADS=1 python tests/benchmarks/bench_sweep.py               three turns of 400 cases
    OMP_NUM_THREADS=1 python tests/benchmarks/bench_sweep.py --cases 100 --repeats 5

Cases that share nothing (another diameter each) are solved by one worker process of this machine and by
two. Both are started, and have solved a few cases, before the clock runs. Goal: at least 1.7 on two cores
with nothing else to do; a busy machine shows less, so its load is printed. The last line is what a case costs
beyond its solving: one worker over the same cases in this process.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
GOAL = 1.7
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


def batches(cases: int, first: float) -> list[object]:
    """Return batches of one case each, diameters from ``first`` on [mm]."""
    from stickout.fem.setup.file import parse_setup
    from stickout.fem.sweep.batches import Case, batches_of

    setups = [parse_setup(BAR, changes=[f"bar.diameter={first + 0.01 * n:.6g}"]).setup for n in range(cases)]
    made = batches_of([Case(n, setup) for n, setup in enumerate(setups)])
    assert len(made) == cases, "these cases are meant to share nothing"
    return list(made)


def wall_time(engine: object, work: Sequence[object]) -> float:
    """Return how long an engine takes for some batches [s]."""
    start = time.perf_counter()
    found = list(engine.solve(work, done=()))  # type: ignore[attr-defined]
    assert len(found) == len(work)
    return time.perf_counter() - start


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Ratios of workers.")
    parser.add_argument("--cases", type=int, default=400, help="cases a turn (default 400)")
    parser.add_argument("--repeats", type=int, default=3, help="turns a side (default 3)")
    options = parser.parse_args()
    from stickout.cli.sweeps.cluster import on_this_machine
    from stickout.cli.sweeps.engine import Here

    work, few = batches(options.cases, 14.0), batches(8, 10.0)
    times: dict[str, list[float]] = {"here": [], "one": [], "two": []}
    with ExitStack() as stack:
        engines = {
            "here": Here(),
            "one": stack.enter_context(on_this_machine(1)),
            "two": stack.enter_context(on_this_machine(2)),
        }
        for engine in engines.values():
            wall_time(engine, few)
        for _ in range(options.repeats):
            for name, engine in engines.items():
                times[name].append(wall_time(engine, work))
    here, one, two = (median(times[name]) for name in ("here", "one", "two"))
    word = "met" if one / two >= GOAL else "NOT MET"
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print(f"  {options.cases} cases, one worker over two: {one / two:.2f} by the clock; goal {GOAL}, {word}")
    print(f"  one worker over this process: {one / here:.2f}")


# Worker processes load this file as well.
if __name__ == "__main__":
    main()
