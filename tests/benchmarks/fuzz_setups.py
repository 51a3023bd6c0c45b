"""Feed broken set-ups to the reader and the force model for as long as you like.

    python tests/benchmarks/fuzz_setups.py 100000 [first seed]

Prints every text that ends in anything but a set-up or a told mistake, and how many there were.
"""

from __future__ import annotations

import sys
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

import fuzzing

BLOCK = 1000  # set-ups of one seed


def main(count: int, first: int) -> int:
    """Return how many of the set-ups broke the program."""
    begin, broke, mistaken = time.perf_counter(), 0, 0
    for block in range(-(-count // BLOCK)):
        texts = fuzzing.setup_texts(min(BLOCK, count - block * BLOCK), seed=first + block)
        for number, text in enumerate(texts):
            try:
                told = fuzzing.told_of(text)
                mistaken += bool(told)
                if not all(one.isprintable() and len(one) < 1600 for one in told):
                    raise AssertionError("a message that is no single short line")
            except Exception:  # noqa: BLE001 - whatever it is, it is what this program looks for
                broke += 1
                print(f"seed {first + block}, number {number}:\n{text[:2000]!r}")
                print(traceback.format_exc()[-1500:])
    seconds = time.perf_counter() - begin
    print(f"{count} set-ups in {seconds:.0f} s: {mistaken} told a mistake, {broke} broke the program.")
    return broke


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    raise SystemExit(min(main(wanted, int(sys.argv[2]) if len(sys.argv) > 2 else 1), 1))
