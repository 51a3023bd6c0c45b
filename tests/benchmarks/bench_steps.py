"""Do told errors cover bars of many small shoulders? Against the same bars with every shoulder graded.

Run from the top folder:

    OMP_NUM_THREADS=1 python tests/benchmarks/bench_steps.py                   24 bars, some two minutes
    OMP_NUM_THREADS=1 python tests/benchmarks/bench_steps.py --first 100 --count 12

Random bars of 9 to 15 steps: falling, rising, to and fro; 0.3 to 4 mm apart; rigid or on beds; accuracies of
1e-2 to 3e-4. The reference is one space finer than the first two that answers are told from, its cells drawn
together at every shoulder, carried on by a twentieth of its own last step. Judged are six notes and the
diagonal of the compliance.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from statistics import median

import numpy as np

from stickout.fem.revolved.solve import solve
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study.frames import own_frame
from stickout.fem.study.of_revolution import SPACES, revolved_bar
from stickout.fem.study.study import limit_of
from stickout.meshes.tagged import FloatArray

ONWARD = 0.05
WIDE = 20.0


def diameters(rng: np.random.Generator, number: int) -> FloatArray:
    """Return the diameters of a bar's steps [mm]: falling, rising, any, or falling with teeth."""
    steps = int(rng.integers(9, 16))
    if number % 4 == 0:
        return WIDE - np.cumsum(rng.uniform(0.05, 0.6, steps))
    if number % 4 == 1:
        return WIDE - 2 + np.cumsum(rng.uniform(0.02, 0.3, steps))
    if number % 4 == 2:
        return WIDE - rng.uniform(0.05, 1.0, steps)
    return WIDE - np.linspace(0.2, 3, steps) + rng.uniform(0, 0.6, steps) * (np.arange(steps) % 2)


def random_bar(number: int) -> Setup:
    """Return a bar of many steps."""
    rng = np.random.default_rng(number)
    every = diameters(rng, number)
    apart = float(rng.choice([0.3, 0.5, 1.0, 2.0, 4.0]))
    long = max(WIDE * rng.uniform(2, 6), len(every) * apart * 1.3 + 8)
    start = rng.uniform(2, long - len(every) * apart - 2)
    steps = "".join(
        f"[[bar.steps]]\nstart = {start + apart * n:.3f}\ndiameter = {one:.3f}\n"
        for n, one in enumerate(every)
    )
    bed = rng.choice([0.0, 1.0, 10.0, 100.0], p=[0.5, 0.2, 0.2, 0.1])
    gripped, grip = ("gripped = 50\n", f'"bed"\nbed_n_per_um_mm2 = {bed}') if bed else ("", '"rigid"')
    accuracy = rng.choice([1e-2, 1e-3, 1e-3, 3e-4])
    sizes = f'section = "round"\ndiameter = {WIDE}\noverhang = {long:.2f}\nmaterial = "steel"\n{gripped}'
    text = f'units = "mm"\n[bar]\n{sizes}{steps}[grip]\nstyle = {grip}\n[solve]\naccuracy = {accuracy}\n'
    return own_frame(parse_setup(text).setup)[0]


def true_over_told(setup: Setup) -> tuple[FloatArray, FloatArray, bool]:
    """Return true over told errors of notes and of the compliance's diagonal; if accuracy was reached."""
    limit, wanted = limit_of(setup), setup.solve.modes
    bar = replace(revolved_bar(setup), blunt=0.0)
    coarse, fine = (solve(bar, SPACES[n], wanted=wanted + 2) for n in (1, 2))
    hz = (fine.frequency_hz + ONWARD * (fine.frequency_hz - coarse.frequency_hz))[:wanted]
    soft = np.diag(fine.compliance + ONWARD * (fine.compliance - coarse.compliance))
    notes = np.abs(limit.frequency_hz[:wanted] / hz - 1) / limit.error[:wanted]
    entries = np.abs(np.diag(limit.compliance) / soft - 1) / np.diag(limit.compliance_error)
    return notes, entries, limit.reached


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Told errors of bars of many steps.")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=24)
    chosen = parser.parse_args()
    every = []
    for number in range(chosen.first, chosen.first + chosen.count):
        every.append(true_over_told(random_bar(number)))
        notes, entries, reached = every[-1]
        word = "" if reached else ", accuracy not reached"
        print(f"  {number}: worst true over told {notes.max():.2f} and {entries.max():.2f}{word}", flush=True)
    for place, what in ((0, "notes"), (1, "compliance, diagonal")):
        parts = np.concatenate([one[place] for one in every])
        covered, told = 100 * np.mean(parts <= 1), median(1 / np.maximum(parts, 1e-9))
        print(
            f"{what}: {len(parts)} judged, {covered:.1f} % covered, worst true over told {parts.max():.2f}, "
            f"median told over true {told:.1f}"
        )


if __name__ == "__main__":
    main()
