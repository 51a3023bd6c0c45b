"""Do the intervals of ``listen`` hold in a shop? Rooms, microphones, recorders and pairs, over many seeds.

Run ``python tests/benchmarks/bench_listening.py 200``. Every answer that is given should hold the truth nine
times in ten; a file that would mislead may be refused instead. Nothing of the tool makes the sounds.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))
from shop import RATE, in_shop, write_wav

from stickout.fem.bench.listening import listen

CASES: Mapping[str, Mapping[str, object]] = {
    "quiet room": {"t60": 0.3},
    "usual room": {"t60": 0.5},
    "ringing room": {"t60": 0.8},
    "AC-coupled microphone": {"coupled_hz": 100.0},
    "limiter 20 dB/s": {"release": 20.0},
    "limiter 60 dB/s": {"release": 60.0},
    "limiter 200 dB/s": {"release": 200.0},
    "limiter 1000 dB/s": {"release": 1000.0},
    "pair D 0.2": {"pair": 0.2},
    "pair D 0.5": {"pair": 0.5},
    "pair D 1": {"pair": 1.0},
    "pair D 2": {"pair": 2.0},
}


def told(case: Mapping[str, object], seed: int, folder: Path) -> tuple[int, int, int, int]:
    """Return notes that hold and were given, dampings that hold and were given."""
    sound, truths = in_shop(seed=seed, **case)  # type: ignore[arg-type]
    heard = listen([write_wav(folder / "t.wav", sound, rate=RATE)])
    held = [0, 0, 0, 0]
    for mode in heard.modes:
        hz, ratio = min(truths, key=lambda one: abs(one[0] - mode.frequency_hz.likely))
        if abs(hz / mode.frequency_hz.likely - 1) > 0.05:
            continue
        # A pair that is said not to be split answers for both of its notes at once.
        near = [one for one in truths if abs(one[0] / hz - 1) < 0.05] if mode.pair else [(hz, ratio)]
        held[0] += any(mode.frequency_hz.low <= one[0] <= mode.frequency_hz.high for one in near)
        held[1] += 1
        if mode.damping_ratio is not None:
            held[2] += any(mode.damping_ratio.low <= one[1] <= mode.damping_ratio.high for one in near)
            held[3] += 1
    return held[0], held[1], held[2], held[3]


def main() -> None:
    """Print a row a case."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    asked = sys.argv[2:] or list(CASES)
    print(f"{'case':<24}{'notes':>14}{'dampings':>14}{'refused':>10}")
    with tempfile.TemporaryDirectory() as folder:
        for name in asked:
            rows = np.array([told(CASES[name], seed, Path(folder)) for seed in range(seeds)])
            a, b, c, d = rows.sum(axis=0)
            none = int((rows[:, 3] == 0).sum())
            print(f"{name:<24}{f'{a}/{b}':>14}{f'{c}/{d}':>14}{none:>10}", flush=True)


if __name__ == "__main__":
    main()
