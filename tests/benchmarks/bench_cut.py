"""What does the cut cost beside the modes? Ratios only, all measured in one run, sides taking turns.

Run from the top folder:

    OMP_NUM_THREADS=1 python tests/benchmarks/bench_cut.py              five turns
    OMP_NUM_THREADS=1 python tests/benchmarks/bench_cut.py --repeats 9
    OMP_NUM_THREADS=1 python tests/benchmarks/bench_cut.py --rows       the last point alone

1. Whole commands on one set-up, each in a process of its own, imports and all: `cut` with its bands and
   levers against `modes`. Goal: below 1.4 by processor time.
2. Three hundred sampled 3x3 limits, evaluated as one batch, against one FE solve at the default accuracy
   (`run_study`). Goal: below 10.
3. The eigenvalues of 64 models at 6 speeds and 1500 frequencies, the rubbing flank in the loop: a figure in
   seconds. Goal: below one.
4. What its cut adds to a row of a sweep in one process, over one FE solve at the default accuracy and in
   milliseconds of processor time: a hundred overhangs, and a hundred cuts of one bar. Goal: 20 ms.

Seconds belong to the machine and the hour; processor time suffers less from other work on it.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache, partial
from itertools import product
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from stickout.fem.cut.answer import CutAnswer
    from stickout.fem.sweep.batches import Batch

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = 300
MODELS, SPEEDS, FREQUENCIES = 64, 6, 1500
ROW_GOAL = 20.0
Times = tuple[float, float]


def command_time(words: Sequence[str]) -> Times:
    """Return wall and processor time of one command in a process of its own [s]."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "stickout.cli", *words],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        check=True,
        env=os.environ,
    )
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def work_time(work: Callable[[], object]) -> Times:
    """Return wall and processor time of a call in this process [s]."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def ratio(name: str, slow: Sequence[Times], fast: Sequence[Times], *, goal: float) -> None:
    """Print the ratio of two medians by the clock and by processor time."""
    wall, processor = (median(t[k] for t in slow) / median(t[k] for t in fast) for k in (0, 1))
    word = "met" if processor < goal else "NOT MET"
    print(
        f"  {name}: {wall:.2f} : 1 by the clock, {processor:.2f} : 1 by processor time; goal {goal:g}, {word}"
    )


def commands(example: Path, repeats: int) -> None:
    """Print the ratio of the whole commands, after one turn that is thrown away."""
    runs: dict[str, list[Times]] = {"cut": [], "modes": []}
    for turn in range(repeats + 1):
        for name, times in runs.items():
            taken = command_time([name, str(example)])
            if turn:
                times.append(taken)
    ratio(f"{example.stem}: cut to modes, whole commands", runs["cut"], runs["modes"], goal=1.4)


@cache
def answer_to(example: Path) -> CutAnswer:
    """Return the answer to an example."""
    from stickout.fem.cut.answer import cut_answer
    from stickout.fem.setup.file import read_setup
    from stickout.fem.study.study import run_study

    return cut_answer(run_study(read_setup(example).setup))


def limits(example: Path, repeats: int) -> None:
    """Print the ratio of a batch of sampled limits to one study."""
    from stickout.fem.chatter.stability import absolute_limit
    from stickout.fem.study.study import run_study

    answer = answer_to(example)
    setup = answer.result.setup
    factors = np.exp(np.random.default_rng(1).normal(0.0, 0.4, (SAMPLES, 1)))
    batch = replace(answer.both, eta=answer.both.eta * factors)
    solves = [work_time(lambda: run_study(setup)) for _ in range(repeats)]
    sampled = [work_time(lambda: absolute_limit(batch, answer.case.stiffness)) for _ in range(repeats)]
    ratio(f"{example.stem}: {SAMPLES} sampled 3x3 limits to one FE study", sampled, solves, goal=10.0)


def speeds(example: Path, repeats: int) -> None:
    """Print the time of 64 models at 6 speeds and 1500 frequencies, the rubbing flank in the loop."""
    from stickout.fem.chatter.loop import loop_matrix, lowest_real
    from stickout.fem.cut.flank import flank_of

    answer = answer_to(example)
    factors = np.exp(np.random.default_rng(2).normal(0.0, 0.4, (MODELS, 1, 1)))
    batch = replace(answer.both, eta=answer.both.eta * factors)
    w = np.linspace(0.5, 2.5, FREQUENCIES) * answer.both.omega[0]
    flank = flank_of(answer.case) / np.geomspace(0.1, 2.0, SPEEDS)[:, None, None]
    times = [
        work_time(lambda: lowest_real(loop_matrix(batch, answer.case.stiffness, w=w, flank=flank)))
        for _ in range(repeats)
    ]
    wall, processor = (median(one[k] for one in times) for k in (0, 1))
    word = "met" if processor < 1 else "NOT MET"
    print(
        f"  {example.stem}: {MODELS} models x {SPEEDS} speeds x {FREQUENCIES} frequencies: {wall:.2f} s "
        f"by the clock, {processor:.2f} s of processor time; goal 1, {word}"
    )


def plans() -> dict[str, list[list[str]]]:
    """Return the changes of two sweeps of a hundred rows each."""
    spindle = ("[120]", "[120, 315, 800]", "[200, 500, 1250]", "[120, 200, 315, 500, 800, 1250]")
    cuts = product(np.geomspace(0.05, 1, 5), np.linspace(0.03, 0.12, 5), spindle)
    return {
        "100 overhangs": [[f"bar.overhang={one:.9g}"] for one in np.linspace(40, 120, 100)],
        "100 cuts": [
            [f"cut.depth={depth:.6g}", f"cut.feed={feed:.6g}", f"cut.speeds_rpm={speeds}"]
            for depth, feed, speeds in cuts
        ],
    }


def batches(example: Path, plan: Sequence[Sequence[str]], *, cut: bool) -> list[Batch]:
    """Return the batches of a sweep, with its cut or without."""
    from stickout.fem.setup.file import read_setup
    from stickout.fem.sweep.batches import Case, batches_of

    kept = [[one for one in changes if cut or not one.startswith("cut.")] for changes in plan]
    left = () if cut else ("cut",)
    return batches_of(
        [
            Case(number, read_setup(example, changes=changes, leave_out=left).setup)
            for number, changes in enumerate(kept)
        ]
    )


def answered(work: Sequence[Batch]) -> None:
    """Answer all cases of a sweep."""
    from stickout.fem.sweep.batches import solve_batch

    for batch in work:
        assert all(one.answer is not None for one in solve_batch(batch))


def rows(example: Path, repeats: int) -> None:
    """Print what its cut adds to a row of a sweep, in solves and in ms, after a turn thrown away."""
    from stickout.fem.setup.file import read_setup
    from stickout.fem.study.study import run_study

    setup = read_setup(example).setup
    for name, plan in plans().items():
        sides: dict[str, Callable[[], object]] = {
            "cut": partial(answered, batches(example, plan, cut=True)),
            "bare": partial(answered, batches(example, plan, cut=False)),
            "solve": partial(run_study, setup),
        }
        times: dict[str, list[float]] = {side: [] for side in sides}
        for turn in range(repeats + 1):
            for side, work in sides.items():
                took = work_time(work)[1]
                if turn:
                    times[side].append(took)
        cut, bare, solve = (median(times[side]) for side in sides)
        added = (cut - bare) / len(plan)
        word = "met" if 1e3 * added <= ROW_GOAL else "NOT MET"
        print(
            f"  {example.stem}, {name}: the cut adds {added / solve:.2f} solves to a row, "
            f"{1e3 * added:.1f} ms of processor time; goal {ROW_GOAL:g} ms, {word}"
        )


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Ratios of the cost of the cut.")
    parser.add_argument("--repeats", type=int, default=5, help="turns a side (default 5)")
    parser.add_argument("--rows", action="store_true", help="only what a cut adds to a row of a sweep")
    options = parser.parse_args()
    repeats = options.repeats
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    rows(ROOT / "examples" / "boring_bar_16mm.toml", repeats)
    if options.rows:
        return
    for name in ("boring_bar_16mm", "turning_tool_12mm"):
        example = ROOT / "examples" / f"{name}.toml"
        commands(example, repeats)
        limits(example, repeats)
        speeds(example, repeats)


if __name__ == "__main__":
    main()
