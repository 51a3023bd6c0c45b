"""How many times sooner are we? Six modes of a round steel bar, ours against tuned peers, in one run.

Run from the top folder, with the extra `bench` installed (`pip install -e ".[bench]"`):

    python tests/benchmarks/bench_modes.py                    one thread each, then the libraries' defaults
    python tests/benchmarks/bench_modes.py --repeats 9        more turns; the default is 5
    python tests/benchmarks/bench_modes.py --skip "stock, sq" leave out sides whose name holds this
    python tests/benchmarks/peer_ngsolve.py --search          tune a peer anew (minutes)

Every side has a child process that has done its imports; the sides take turns, and a ratio is that of two
medians. Seconds are printed as a help, they belong to the machine and the hour; the ratios are the result.
The processor time beside them suffers less from other work on the machine. A side that is not installed is
named with the command that brings it. SfePy is not in the extra: it has no wheel for Linux and must be built
(`pip install sfepy` with a C compiler).

`ours` is one solve in a tuned space (a body of revolution: Fourier series round the axis), as the peers' is
one on their tuned mesh; `ours, error told` is what a user gets: two spaces or more, a limit, an error
estimate for every frequency, and the kinds of the modes; shapes are made when a picture is asked for.
`ngsolve, quarter` is given the bar's two planes of symmetry, which its user would have to cut and combine by
hand.

Judge by one thread: on a machine that is shared, threads of a library that wait for each other burn time.

The round bar is solved from geometry to answer, mesh included, and every frequency must lie within 0.1 % of
the converged values in `round_bar.py`. Against the stock way both sides solve one and the same mesh of a
square bar, and must agree to 1e-6.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
from round_bar import CONVERGED_HZ, WANTED
from sides import SIDES

THREAD_KEYS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
PAIRS = [
    ("ngsolve", "ours"),
    ("ngsolve, quarter", "ours"),
    ("ngsolve", "ours, error told"),
    ("ngsolve, quarter", "ours, error told"),
    ("ngsolve, task manager", "ours"),
    ("sfepy", "ours"),
    ("ours, error told", "ours"),
    ("stock, square bar", "ours, square bar"),
    ("stock, lean rule, square bar", "ours, square bar"),
    ("sfepy", "ngsolve"),
]
Run = dict[str, Any]


class Child:
    """A process that has imported one side and solves when asked."""

    def __init__(self, name: str, *, one_thread: bool) -> None:
        environment = {k: v for k, v in os.environ.items() if k not in THREAD_KEYS}
        if one_thread:
            environment |= dict.fromkeys(THREAD_KEYS, "1")
        here = Path(__file__).with_name("sides.py")
        self.process = subprocess.Popen(
            [sys.executable, str(here), name],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.greeting = self._line()

    def _line(self) -> Run:
        line = self.process.stdout.readline() if self.process.stdout else ""
        return json.loads(line) if line else {}

    def solve(self) -> Run:
        """Return the times and the answer of one solve; empty when the child has died."""
        try:
            self.process.stdin.write("\n")  # type: ignore[union-attr]
            self.process.stdin.flush()  # type: ignore[union-attr]
        except BrokenPipeError:
            return {}
        return self._line()

    def close(self) -> None:
        """End the child."""
        self.process.stdin.close()  # type: ignore[union-attr]
        self.process.wait()


def start(names: Sequence[str], *, one_thread: bool) -> dict[str, Child]:
    """Return the children that could import their side; name those that could not."""
    children = {}
    for name in names:
        child = Child(name, one_thread=one_thread)
        if "ready" in child.greeting:
            children[name] = child
            continue
        child.close()
        if "missing" in child.greeting:
            print(
                f"  {name}: not run, {SIDES[name].package} is not installed. To add it: {SIDES[name].install}"
            )
        else:
            print(f"  {name}: import failed; run tests/benchmarks/{SIDES[name].module}.py to see why")
    return children


def measure(names: Sequence[str], repeats: int, *, one_thread: bool) -> dict[str, list[Run]]:
    """Return the runs of every side: one that is thrown away, then `repeats` in turns."""
    children = start(names, one_thread=one_thread)
    runs: dict[str, list[Run]] = {name: [] for name in children}
    for turn in range(repeats + 1):
        for name in list(children):
            run = children[name].solve()
            if not run:
                print(f"  {name}: failed while solving; run its file alone to see why")
                children.pop(name).close()
                runs.pop(name)
            elif turn:
                runs[name].append(run)
    for child in children.values():
        child.close()
    return runs


def check(name: str, runs: dict[str, list[Run]]) -> str:
    """Return what there is to say on a side's accuracy."""
    hz = np.array(runs[name][0]["hz"])
    if "square" not in name:
        worst = float(np.abs(hz / CONVERGED_HZ - 1).max())
        return f"worst of six {100 * worst:.3f} %" + (
            "" if worst < WANTED else ", OUTSIDE 0.1 %: does not count"
        )
    other = next(
        (r for n, r in runs.items() if "square" in n and n.startswith("ours") != name.startswith("ours")),
        None,
    )
    if other is None:
        return "nothing to compare with"
    apart = float(np.abs(hz / np.array(other[0]["hz"]) - 1).max())
    return f"ours and stock agree to {apart:.0e}" + (
        "" if apart < 1e-6 else ", TOO FAR APART: does not count"
    )


def middle(runs: Sequence[Run], key: str) -> float:
    """Return the median of one time."""
    return float(median(run[key] for run in runs))


def show(runs: dict[str, list[Run]]) -> None:
    """Print sides, then ratios."""
    for name, many in runs.items():
        wall, processor, first = middle(many, "wall"), middle(many, "processor"), many[0]
        mesh = f", {first['cells']} cells" if first["cells"] else ""
        size = f"{first['unknowns']} unknowns{mesh}"
        print(f"  {name:29s} {wall:8.3f} s wall, {processor:8.3f} s processor; {size}; {check(name, runs)}")
    for slow, fast in PAIRS:
        if slow in runs and fast in runs:
            wall, work = (middle(runs[slow], k) / middle(runs[fast], k) for k in ("wall", "processor"))
            print(f"  {slow} : {fast} = {wall:.1f} : 1 by the clock, {work:.1f} : 1 by processor time")


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Ratios of solve times, ours against tuned peers.")
    parser.add_argument("--repeats", type=int, default=5, help="turns per side (default 5)")
    parser.add_argument("--skip", action="append", default=[], help="leave out sides whose name holds this")
    parser.add_argument("--threads", choices=("one", "default", "both"), default="both")
    chosen = parser.parse_args()
    names = [name for name in SIDES if not any(word in name for word in chosen.skip)]
    for one_thread, title in ((True, "one thread each"), (False, "the libraries' default threads")):
        if chosen.threads == "both" or (chosen.threads == "one") == one_thread:
            print(title)
            plain = [n for n in names if not (one_thread and "task manager" in n)]
            show(measure(plain, chosen.repeats, one_thread=one_thread))


if __name__ == "__main__":
    main()
