"""Large single bars: growth with the unknowns, one million unknowns, and where each way of solving wins.

Run it from the repository's root, with the machine to itself::

    python tests/benchmarks/bench_large.py growth
    python tests/benchmarks/bench_large.py million
    python tests/benchmarks/bench_large.py ways [--least 40000] [--most 250000]

Every solve is a process of its own, so that its peak memory is its own; sides take turns, and what is told
are medians and ratios within the run. A solve is six modes, two spare ones and the static compliance of a
steel bar held at its root, mesh counted in. ``symmetric`` is round, ``skew`` a bar with flats that is turned,
so that no mirror plane helps.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
from dataclasses import asdict, dataclass, replace

import numpy as np

from stickout.fem.solid.block_cholesky import BY_ITERATION, DIRECTLY, USUAL
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.modes import solve_modes, static_compliance
from stickout.meshes.parts import Bar
from stickout.meshes.pieces import Fineness
from stickout.meshes.tool import bar_mesh

STEEL = Elastic(206e9, 0.3, 7850.0)
MODES = 6
LIMITS = {"direct": DIRECTLY, "iteration": BY_ITERATION, "chosen": USUAL}


@dataclass(frozen=True)
class Case:
    """A bar: its kind, cells in a quadrant, longest layer over the depth, overhang [mm], and the way."""

    kind: str
    around: int
    layer: float
    overhang: float = 112.0
    way: str = "chosen"


@dataclass(frozen=True)
class Told:
    """What a solve cost: unknowns, widest block, processor and clock seconds, peak GB, first frequency."""

    unknowns: int
    block: int
    processor: float
    clock: float
    gigabytes: float
    first_hz: float


def model_of(case: Case) -> Model:
    """Return the bar of a case, graded toward its root."""
    if case.kind == "symmetric":
        bar = Bar(overhang_mm=case.overhang, diameter_mm=16)
    else:
        bar = Bar(case.overhang, section="flatted", diameter_mm=16, across_flats_mm=13, rotation_deg=20)
    rings, skin = max(1, case.around // 3), 0.22 / case.around
    fineness = Fineness(case.around, rings, skin, case.layer, min(0.1 / case.around, case.layer))
    return held_model(bar_mesh(bar, fineness=fineness), {"bar": STEEL}, support=Support(held=("root",)))


def solve(case: Case) -> Told:
    """Solve one case in this process."""
    clock, processor = time.perf_counter(), time.process_time()
    model = replace(model_of(case), limits=LIMITS[case.way])
    modes = solve_modes(model, MODES)
    static_compliance(model)
    return Told(
        unknowns=int(np.sum(~model.held)),
        block=int(max(np.diff(part.model.layout.start).max() for part in model.parts)),
        processor=time.process_time() - processor,
        clock=time.perf_counter() - clock,
        gigabytes=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6,
        first_hz=float(modes.frequency_hz[0]),
    )


def in_turns(cases: list[Case], repeats: int) -> list[Told]:
    """Return the medians of several solves of each case, one process each, cases in turns."""
    runs: list[list[Told]] = [[] for _ in cases]
    for _ in range(repeats):
        for case, told in zip(cases, runs, strict=True):
            command = [sys.executable, __file__, "case", json.dumps(asdict(case))]
            done = subprocess.run(command, capture_output=True, text=True, check=True)
            told.append(Told(**json.loads(done.stdout)))
    return [
        Told(*(statistics.median(getattr(one, name) for one in told) for name in Told.__dataclass_fields__))
        for told in runs
    ]


def show(cases: list[Case], tolds: list[Told]) -> None:
    """Print a table; ratios of time are to the first row."""
    heads = {"unknowns": 10, "block": 7, "s": 8, "ratio": 8, "us each": 9, "GB": 7, "Hz": 14}
    print(f"{'bar':11}{'way':11}" + "".join(f"{head:>{width}}" for head, width in heads.items()))
    for case, told in zip(cases, tolds, strict=True):
        print(
            f"{case.kind:11}{case.way:11}{told.unknowns:10.0f}{told.block:7.0f}{told.processor:8.1f}"
            f"{told.processor / tolds[0].processor:8.2f}{1e6 * told.processor / told.unknowns:9.1f}"
            f"{told.gigabytes:7.2f}{told.first_hz:14.6f}",
            flush=True,
        )


def growth(repeats: int) -> None:
    """Print time against unknowns at constant section, and the fitted power."""
    series = {
        "symmetric, finer along": [Case("symmetric", 4, layer) for layer in (0.5, 0.16, 0.05, 0.016, 0.0088)],
        "symmetric, longer": [Case("symmetric", 4, 0.4, at) for at in (100, 300, 900, 2700, 4800)],
        "skew, finer along": [Case("skew", 4, layer) for layer in (0.6, 0.2, 0.066, 0.022, 0.0082)],
        "skew, iteration, longer": [
            Case("skew", 4, 0.25, at, way="iteration") for at in (48, 140, 480, 1440, 4400)
        ],
        "skew, iteration, ever flatter cells": [
            Case("skew", 4, layer, way="iteration") for layer in (0.6, 0.2, 0.066, 0.022)
        ],
    }
    for name, cases in series.items():
        tolds = in_turns(cases, repeats)
        show(cases, tolds)
        unknowns, seconds = (np.log([getattr(t, k) for t in tolds]) for k in ("unknowns", "processor"))
        print(f"{name}: power {np.polyfit(unknowns, seconds, 1)[0]:.2f}\n", flush=True)


def million(repeats: int) -> None:
    """Print time and memory at a million unknowns."""
    cases = [
        Case("symmetric", 12, 0.029),
        Case("symmetric", 12, 0.029, way="direct"),
        Case("symmetric", 8, 0.056, 560.0),
        Case("skew", 6, 0.07, 784.0),
        Case("skew", 12, 0.045, 137.0),
    ]
    show(cases, in_turns(cases, repeats))


def ways(repeats: int, least: float, most: float) -> None:
    """Print both ways side by side over planes of rising width."""
    sizes = [(4, 0.2), (4, 0.05), (5, 0.1), (6, 0.07), (7, 0.07), (8, 0.05), (10, 0.045), (12, 0.04)]
    for kind in ("symmetric", "skew"):
        for around, layer in sizes:
            if least <= np.sum(~model_of(Case(kind, around, layer)).held) <= most:
                cases = [Case(kind, around, layer, way=way) for way in ("direct", "iteration")]
                show(cases, in_turns(cases, repeats))


def main() -> None:
    """Run one of the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("table", choices=["growth", "million", "ways", "case"])
    parser.add_argument("text", nargs="?")
    parser.add_argument("--repeats", type=int, default=1)
    parser.add_argument("--least", type=float, default=0.0)
    parser.add_argument("--most", type=float, default=250_000.0)
    given = parser.parse_args()
    if given.table == "case":
        print(json.dumps(asdict(solve(Case(**json.loads(given.text))))))
    elif given.table == "ways":
        ways(given.repeats, given.least, given.most)
    else:
        {"growth": growth, "million": million}[given.table](given.repeats)


if __name__ == "__main__":
    main()
