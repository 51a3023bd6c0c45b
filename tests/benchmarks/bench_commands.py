"""What the commands that draw take of the processor, whole, each in a process of its own.

    python tests/benchmarks/bench_commands.py [--rounds 3] [--only film talk] [OTHER ...]

OTHER are other installations' ``stickout`` programs, an earlier one for instance; all take turns, command by
command, so that what else the machine does falls on all alike. Printed are the median and the range of each
in seconds, children counted, and the ratio of its median to that of each other one. BLAS has one thread.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from typing import Final

BAR: Final = Path(__file__).parents[2] / "examples" / "boring_bar_16mm.toml"
OUT: Final = {"film": "bar.gif", "talk": "evening", "report": "report.html", "show": "bar.html"}
ONE_THREAD: Final = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def processor_time(program: str, command: str) -> float:
    """Return the processor time of one command in an empty folder, its children's counted [s].

    Raises
    ------
    subprocess.CalledProcessError
        The command failed.
    """
    with tempfile.TemporaryDirectory() as folder:
        call = [program, command, str(BAR), "--out", OUT[command]]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(call, cwd=folder, env={**os.environ, **ONE_THREAD}, capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> int:
    """Time the commands in turn and print the table; the exit code is 0."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("others", nargs="*", metavar="OTHER")
    asked.add_argument("--rounds", type=int, default=3)
    asked.add_argument("--only", nargs="+", choices=OUT, default=list(OUT))
    given = asked.parse_args()
    programs = [str(Path(sys.executable).with_name("stickout")), *given.others]
    for command in given.only:
        runs: dict[str, list[float]] = {program: [] for program in programs}
        for _ in range(given.rounds):
            for program in programs:
                runs[program].append(processor_time(program, command))
        for program, taken in runs.items():
            ratio = median(runs[programs[0]]) / median(taken)
            beside = "" if program == programs[0] else f"; ours takes {ratio:.2f} of that"
            print(
                f"{command:8}{program}: {median(taken):.2f} s ({min(taken):.2f} to {max(taken):.2f}){beside}",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
