"""Do the intervals of ``listen`` hold in a shop? Rooms, microphones, recorders and pairs, over many seeds.

Run ``python tests/benchmarks/bench_listening.py 200``, or ``50:100`` for some of them, and names of cases;
``time`` tells what half a minute of taps costs, ``floor`` how near the poles come to the least error there
can be. Every answer that is given should hold the truth nine times in ten, in every case; a file that would
mislead may be refused instead. Each row ends in "passed" or "NOT". Nothing of the tool makes the sounds.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))
from bench_bounds import decay_sd, window_factor
from phone import write_coded
from shop import RATE, TWO, decay, in_shop, taps, write_wav

from stickout.fem.bench.listening import Heard, listen
from stickout.fem.bench.poles import matrix_pencil

HELD = 0.9  # of the intervals that are given
TRIALS, MOST_OVER, MOST_BIAS = 300, 1.1, 0.002
ENDINGS = {"aac": "m4a", "libmp3lame": "mp3", "libopus": "ogg"}
CASES: Mapping[str, Mapping[str, Any]] = {
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
    "AAC 64 kb/s": {"codec": "aac", "bits": 64_000},
    "AAC 128 kb/s": {"codec": "aac", "bits": 128_000},
    "MP3 128 kb/s": {"codec": "libmp3lame", "bits": 128_000},
    "Opus 64 kb/s": {"codec": "libopus", "bits": 64_000},
}


def heard_in(case: Mapping[str, Any], seed: int, folder: Path) -> tuple[Heard, list[tuple[float, float]]]:
    """Return what was heard of a case, and its true notes and dampings; no two cases share draws."""
    shop = {key: value for key, value in case.items() if key not in ("codec", "bits")}
    sound, truths = in_shop(seed=1000 * list(CASES.values()).index(case) + seed, **shop)
    if "codec" not in case:
        return listen([write_wav(folder / "t.wav", sound, rate=RATE)]), truths
    path = folder / f"t.{ENDINGS[case['codec']]}"
    return listen([write_coded(path, sound, rate=RATE, codec=case["codec"], bits=case["bits"])]), truths


def told(case: Mapping[str, Any], seed: int, folder: Path) -> tuple[int, int, int, int]:
    """Return notes that hold and were given, dampings that hold and were given."""
    heard, truths = heard_in(case, seed, folder)
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


def floor() -> None:
    """Print deviation of the damping over the least there can be, and its bias, a row for each noise.

    Each noise is taken twice, the second time with its sign turned: what is left of the mean is bias.
    """
    hz, ratio, rate, seconds = 1052.0, 0.012, 12_000, 0.06
    omega = 2 * math.pi * hz
    print(f"{'noise':<10}{'over the bound':>16}{'bias':>24}")
    for level in (60, 50, 40, 30, 20):
        noise, rng, found = 10 ** (-level / 20), np.random.default_rng(level), []
        for _ in range(TRIALS // 2):
            clean = decay(hz, ratio, seconds=seconds, rate=rate, phase=rng.uniform(0, 2 * math.pi))
            own = noise * rng.standard_normal(len(clean))
            for sound in (clean + own, clean - own):
                poles = matrix_pencil(sound[None], 2, rate_hz=rate)
                best = poles[np.argmax(poles.imag)]
                found.append(-best.real / abs(best) / ratio)
        least = decay_sd(ratio * omega, noise=noise, rate_hz=rate) * window_factor(seconds * ratio * omega)
        over = float(np.std(found)) / (least / (ratio * omega))
        halves = np.reshape(found, (-1, 2)).mean(axis=1) - 1.0
        bias, doubt = float(halves.mean()), float(halves.std()) / math.sqrt(len(halves))
        good = over <= MOST_OVER and abs(bias) < MOST_BIAS
        told = f"{100 * bias:.3f} % (± {100 * doubt:.3f})"
        print(f"{-level:>4} dB  {over:>16.3f}{told:>24}  {'passed' if good else 'NOT'}", flush=True)


def half_a_minute(folder: Path) -> None:
    """Print what half a minute of taps at 48 kHz costs, over one decomposition of a 1500 square matrix."""
    path = write_wav(folder / "t.wav", taps(TWO, count=41))
    square = np.random.default_rng(0).standard_normal((1500, 1500))
    spent = []
    for job in (lambda: listen([path]), lambda: np.linalg.svd(square)):
        start = time.process_time()
        job()
        spent.append(time.process_time() - start)
    print(f"half a minute: {spent[0]:.2f} s of processor time, {spent[0] / spent[1]:.2f} times the matrix")


def main() -> None:
    """Print a row a case."""
    if sys.argv[1:] == ["time"]:
        with tempfile.TemporaryDirectory() as folder:
            half_a_minute(Path(folder))
        return
    if sys.argv[1:] == ["floor"]:
        floor()
        return
    first, _, last = (sys.argv[1] if len(sys.argv) > 1 else "20").rpartition(":")
    seeds = range(int(first or 0), int(last))
    asked = sys.argv[2:] or list(CASES)
    print(f"{'case':<24}{'notes':>14}{'dampings':>14}{'refused':>10}")
    with tempfile.TemporaryDirectory() as folder:
        for name in asked:
            rows = np.array([told(CASES[name], seed, Path(folder)) for seed in seeds])
            a, b, c, d = rows.sum(axis=0)
            none = int((rows[:, 3] == 0).sum())
            good = a >= HELD * b and c >= HELD * d
            row = f"{name:<24}{f'{a}/{b}':>14}{f'{c}/{d}':>14}{none:>10}"
            print(f"{row}  {'passed' if good else 'NOT'}", flush=True)


if __name__ == "__main__":
    main()
