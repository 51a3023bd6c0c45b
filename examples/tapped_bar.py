"""A synthetic recording of ten taps, listened to and fitted: how far one phone narrows the margin.

The sound is made here (a decaying tone of 1200 Hz, damping ratio 0.012, a little noise), not recorded from
a bar, so that the true answer is known. Run it with ``python examples/tapped_bar.py``.
"""

import tempfile
import wave
from pathlib import Path

import numpy as np

from stickout.fem import read_setup
from stickout.fem.bench.evidence import Evidence, note_of
from stickout.fem.bench.fit import fit_setup
from stickout.fem.bench.listening import listen
from stickout.fem.bench.log import LoggedTap

RATE, NOTE, DAMPING = 48_000, 1200.0, 0.012

rng = np.random.default_rng(1)
sound = 1e-4 * rng.standard_normal(8 * RATE)
t = np.arange(RATE // 2) / RATE
for tap in range(10):
    ring = rng.uniform(0.2, 0.8) * np.exp(-DAMPING * 2 * np.pi * NOTE * t) * np.sin(2 * np.pi * NOTE * t)
    at = round((0.5 + 0.7 * tap) * RATE)
    sound[at : at + len(ring)] += ring

with tempfile.TemporaryDirectory() as folder:
    path = Path(folder) / "taps.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((32767 * sound).astype("<i2").tobytes())
    heard = listen([path])

mode = heard.modes[0]
assert abs(mode.frequency_hz.likely / NOTE - 1) < 1e-3
assert mode.damping_ratio is not None
assert abs(mode.damping_ratio.likely / DAMPING - 1) < 0.02
print(f"Heard {mode.frequency_hz.likely:.1f} Hz, damping ratio {mode.damping_ratio.likely:.4f}")

setup = read_setup(Path(__file__).with_name("boring_bar_16mm.toml")).setup
note = note_of(LoggedTap(path), heard, near_hz=1100.0)
assert note is not None
fitted = fit_setup(setup, Evidence([note]))
now, before = fitted.predictions.margin, fitted.before.margin
assert now is not None
assert before is not None
print(f"Margin known to a factor of {now.high / now.low:.2f}, before to {before.high / before.low:.2f}")
assert now.high / now.low < before.high / before.low
print("Tap with the drive switched off at the isolator, lightly, beside the edge and never on it.")
