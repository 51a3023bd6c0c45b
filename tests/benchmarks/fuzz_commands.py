"""Run broken command lines, on sound and broken set-ups, for as long as you like.

    python tests/benchmarks/fuzz_commands.py 3600 [first seed]

Prints every line that ends in anything but a known exit code and clear messages, or that loses a file, and
how many there were. The first number is the time in seconds; an hour is some thirty thousand lines.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

import fuzzing_commands as commands


def main(seconds: float, seed: int) -> int:
    """Return how many command lines broke the program."""
    end, broke, count = time.perf_counter() + seconds, 0, 0
    while time.perf_counter() < end:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            kept = commands.make_folder(folder)
            commands.fuzzed_set_up(folder, seed=seed)
            for words in commands.command_lines(20, seed=seed, texts=True):
                began = time.perf_counter()
                fault = commands.fault_of(words, folder, kept)
                count += 1
                if fault is not None:
                    broke += 1
                    print(f"seed {seed}: {commands.told_line(words)}\n{fault}", flush=True)
                if time.perf_counter() - began > 60:
                    print(f"seed {seed}: {commands.told_line(words)} took more than a minute", flush=True)
        seed += 1
    print(f"{count} command lines: {broke} broke the program.")
    return broke


if __name__ == "__main__":
    wanted = float(sys.argv[1]) if len(sys.argv) > 1 else 600.0
    raise SystemExit(min(main(wanted, int(sys.argv[2]) if len(sys.argv) > 2 else 1), 1))
