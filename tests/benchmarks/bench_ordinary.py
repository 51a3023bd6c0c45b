"""What does a whole command cost, imports and all? Processor time, and ratios to the ordinary round bar.

Run from the top folder:

    OMP_NUM_THREADS=1 python tests/benchmarks/bench_ordinary.py               nine turns
    OMP_NUM_THREADS=1 python tests/benchmarks/bench_ordinary.py --repeats 3 --only size

Each command has a process of its own; they take turns. Imports are told as the least of all turns, since
other work on the machine only adds to it, commands as medians and as ratios of medians to `modes` on
`examples/boring_bar_16mm.toml`. Goal: bars that once never ended, a bed as stiff as steel and thirty steps
of 0.3 mm, within three times that.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
IMPORTS = {
    "import NumPy": "import numpy",
    "import NumPy, scipy.linalg, scipy.sparse": "import numpy, scipy.linalg, scipy.sparse",
    "the same and cyclopts": "import numpy, scipy.linalg, scipy.sparse, cyclopts",
    "stickout.fem.lapack": "import stickout.fem.lapack",
}
ORDINARY = "modes, boring_bar_16mm.toml"
GOAL = 3.0
RIGID, BED = '[grip]\nstyle = "rigid"\n', '[grip]\nstyle = "bed"\nbed_n_per_um_mm2 = {}\n'


def stepped(steps: int, grip: str) -> str:
    """Return a bar of 20 mm that falls by 0.1 mm in diameter every 0.3 mm from 30 mm on."""
    every = "".join(
        f"[[bar.steps]]\nstart = {30 + 0.3 * n:.1f}\ndiameter = {19.9 - 0.1 * n:.1f}\n" for n in range(steps)
    )
    sizes = 'section = "round"\ndiameter = 20\noverhang = 80\nmaterial = "steel"'
    gripped = "" if grip == RIGID else "gripped = 60\n"
    return f'units = "mm"\n[bar]\n{sizes}\n{gripped}{every}{grip}'


SETUPS = {
    "bed of 1e6 N/um/mm2": stepped(0, BED.format("1e6")),
    "30 steps": stepped(30, RIGID),
    "30 steps on a bed": stepped(30, BED.format("10")),
    "60 steps": stepped(60, RIGID),
    "100 steps": stepped(100, RIGID),
}
WITHIN = ("bed of 1e6 N/um/mm2", "30 steps", "30 steps on a bed")


def processor_time(words: Sequence[str]) -> float:
    """Return the processor time of Python with some words, in a process of its own [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    quiet = subprocess.DEVNULL
    subprocess.run([sys.executable, *words], cwd=ROOT, stdout=quiet, stderr=quiet, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Processor time of whole commands.")
    parser.add_argument("--repeats", type=int, default=9, help="turns (default 9)")
    parser.add_argument("--only", default="", help="commands whose name holds this, beside the ordinary bar")
    chosen = parser.parse_args()
    turns = chosen.repeats
    with tempfile.TemporaryDirectory() as folder:
        words = {name: ["-c", code] for name, code in IMPORTS.items()}
        files = {name: EXAMPLES / f"{name}.toml" for name in ("boring_bar_16mm", "absorber_bar")}
        for number, (name, text) in enumerate(SETUPS.items()):
            files[name] = Path(folder) / f"{number}.toml"
            files[name].write_text(text, encoding="utf-8")
        for name, path in files.items():
            shown = path.name if path.parent == EXAMPLES else name
            words[f"modes, {shown}"] = ["-m", "stickout.cli", "modes", str(path)]
        sized = ["size", str(files["boring_bar_16mm"]), "--absorber"]
        words["size --absorber, boring_bar_16mm.toml"] = ["-m", "stickout.cli", *sized]
        words = {name: one for name, one in words.items() if chosen.only in name or name == ORDINARY}
        times: dict[str, list[float]] = {name: [] for name in words}
        for turn in range(turns + 1):
            for name, one in words.items():
                taken = processor_time(one)
                if turn:
                    times[name].append(taken)
    for name, taken in times.items():
        if name in IMPORTS:
            print(f"  {name}: {min(taken):.2f} s, the least")
            continue
        ratio = median(taken) / median(times[ORDINARY])
        goal = f"; goal {GOAL:g}, {'met' if ratio < GOAL else 'NOT MET'}" if name[7:] in WITHIN else ""
        print(f"  {name}: {median(taken):.2f} s, {ratio:.2f} : 1{goal}")


if __name__ == "__main__":
    main()
