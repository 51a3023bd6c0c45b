"""What do many like cases cost over one? Ratios only, all measured in one run, sides taking turns.

Run from the top folder:

    OMP_NUM_THREADS=1 python tests/benchmarks/bench_alike.py              five turns
    OMP_NUM_THREADS=1 python tests/benchmarks/bench_alike.py --repeats 9

Each family is answered as `sweep` answers it: meshes, spaces, frequencies in the limit of the meshes with
their errors, directions, losses, bands. It is set over one single solve of the case in the middle on meshes,
as all were solved when the goal was set, over that solve as it is done now (`run_study`: bars of revolution
need no mesh), and over the whole answer to that case. Goal: 100 cases at most 6 single solves on meshes.

After the ratios, per family: how far its frequencies are from those of each case solved alone, over the
error told, worst of three cases; below 1 the error told covers it.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from statistics import median

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
MOST = 6.0


def processor_time(work: Callable[[], object]) -> float:
    """Return the processor time of a call in this process [s]."""
    start = time.process_time()
    work()
    return time.process_time() - start


def families() -> dict[str, list[object]]:
    """Return the families: a hundred set-ups each."""
    from stickout.fem.setup.file import read_setup

    def varied(example: str, key: str, values: Sequence[float], *more: str) -> list[object]:
        path = ROOT / "examples" / f"{example}.toml"
        leave = [name for name in ("cut",) if f"[{name}]" in path.read_text()]
        return [
            read_setup(path, changes=[f"{key}={value:.9g}", *more], leave_out=leave).setup for value in values
        ]

    return {
        "100 overhangs, 40 to 120 mm, round on a bed": varied(
            "boring_bar_16mm", "bar.overhang", np.linspace(40, 120, 100)
        ),
        "100 overhangs, 60 to 160 mm, tube held rigidly": varied(
            "tube_bar", "bar.overhang", np.linspace(60, 160, 100)
        ),
        "100 stiffnesses of the bed, 0.3 to 10": varied(
            "boring_bar_16mm", "grip.bed_n_per_um_mm2", np.geomspace(0.3, 10, 100)
        ),
        "100 turns of a flatted bar": varied(
            "flatted_bar_30deg", "bar.rotation_deg", np.linspace(0, 179, 100)
        ),
    }


def told(name: str, setups: Sequence[object], repeats: int) -> None:
    """Print the ratios of one family, and how well its errors cover it."""
    from stickout.fem.study.accuracy import refine
    from stickout.fem.study.study import levels_of, result_of, run_study, solve_level, unknowns_of
    from stickout.fem.sweep.batches import Case, batches_of, solve_batch
    from stickout.fem.sweep.case_answer import answer_of

    cases = [Case(n, setup) for n, setup in enumerate(setups)]
    answers = {}

    def together() -> None:
        for batch in batches_of(cases):
            answers.update({outcome.number: outcome.answer for outcome in solve_batch(batch)})

    middle = setups[len(setups) // 2]

    def on_meshes() -> None:
        size = partial(unknowns_of, middle)
        wanted, accuracy = middle.solve.modes, middle.solve.accuracy
        limit = refine(
            partial(solve_level, middle), levels_of(middle), accuracy=accuracy, wanted=wanted, size=size
        )
        result_of(middle, limit)

    run_study(middle)
    on_meshes()
    runs: dict[str, list[float]] = {"together": [], "meshes": [], "study": [], "answer": []}
    for _ in range(repeats):
        runs["together"].append(processor_time(together))
        runs["meshes"].append(processor_time(on_meshes))
        runs["study"].append(processor_time(lambda: run_study(middle)))
        runs["answer"].append(processor_time(lambda: answer_of(run_study(middle))))
    many, meshes, single, whole = (median(runs[key]) for key in runs)
    word = "met" if many / meshes <= MOST else "NOT MET"
    ratios = (
        f"{many / meshes:.1f} single solves on meshes, {many / single:.1f} as they are done now, "
        f"{many / whole:.1f} whole answers"
    )
    print(f"  {name}: {ratios}; goal {MOST:g}, {word}")
    worst = 0.0
    for number in (0, len(setups) // 2, len(setups) - 1):
        found, one = answers[number], run_study(setups[number])
        n = len(found.frequency_hz)
        apart = np.abs(found.frequency_hz / one.frequency_hz[:n] - 1)
        worst = max(worst, float(np.max(apart / (found.frequency_error + one.frequency_error[:n]))))
    alone = sum(answer.way == "solved" for answer in answers.values())
    print(f"    apart from each alone, over both errors told: {worst:.2f}; left to be solved alone: {alone}")


def main() -> None:
    """Run all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--repeats", type=int, default=5)
    repeats = parser.parse_args().repeats
    print(f"Processor time, medians of {repeats} turns in one run:")
    for name, setups in families().items():
        told(name, setups, repeats)


if __name__ == "__main__":
    main()
