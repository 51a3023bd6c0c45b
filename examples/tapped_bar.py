"""Ten taps, synthetic, listened to and fitted, then spring passes and cuts: how each narrows the margin.

The sound is made here (a decaying tone of 1200 Hz, damping ratio 0.012, a little noise), not recorded from
a bar, so that the true answer is known. Run it with ``python examples/tapped_bar.py``; with the name of a
file behind it the recording is kept there, to be brought to ``stickout page`` or ``stickout listen``.
"""

import sys
import tempfile
import wave
from pathlib import Path

import numpy as np

from stickout.fem import read_setup
from stickout.fem.bench.evidence import Evidence, note_of
from stickout.fem.bench.fit import fit_setup
from stickout.fem.bench.listening import listen
from stickout.fem.bench.log import LoggedTap
from stickout.fem.bench.springing import SpringPass
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import HeardCut

RATE, NOTE, DAMPING = 48_000, 1200.0, 0.012

rng = np.random.default_rng(1)
sound = 1e-4 * rng.standard_normal(8 * RATE)
t = np.arange(RATE // 2) / RATE
for tap in range(10):
    ring = rng.uniform(0.2, 0.8) * np.exp(-DAMPING * 2 * np.pi * NOTE * t) * np.sin(2 * np.pi * NOTE * t)
    at = round((0.5 + 0.7 * tap) * RATE)
    sound[at : at + len(ring)] += ring

with tempfile.TemporaryDirectory() as folder:
    path = Path(sys.argv[1]) if len(sys.argv) == 2 else Path(folder) / "taps.wav"
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
tapped = fit_setup(setup, Evidence([note]))
# Twice a pass 0.5 mm deep, two spring passes after it, and what these took off the diameter, read to 2 µm.
passes = [
    SpringPass(came_off, passes=2, reading=2e-6, depth_mm=0.5, feed_mm=feed)
    for feed, came_off in ((0.1, 22e-6), (0.3, 75e-6))
]
sprung = fit_setup(setup, Evidence([note], sprung=passes)).predictions
# Ten short cuts near the speed where it turns: alike ones do not always sound alike.
cuts = [HeardCut(rpm=250, heard=heard) for heard in ("quiet", "quiet", "sang", "quiet", "sang")]
cuts += [HeardCut(rpm=315, heard=heard) for heard in ("sang", "sang", "quiet", "sang", "sang")]
every = fit_setup(setup, Evidence([note], sprung=passes, cuts=cuts)).predictions


def wide(band: Band | None) -> float:
    """Return high over low of a 90 % interval."""
    assert band is not None
    return band.high / band.low


before, after = tapped.before, tapped.predictions
print(f"Stiffness times damping, all a tap can tell: {wide(after.tool):.2f}, before {wide(before.tool):.2f}")
print("High over low of the margin        without rubbing, at the worst speed")
for when, one in (
    ("assumed", before),
    ("ten taps", after),
    ("and spring passes at two feeds", sprung),
    ("and ten short cuts heard", every),
):
    print(f"  {when:<32} {wide(one.margin_without_rubbing):>15.2f} {wide(one.margin):>18.2f}")
for when, one in (("assumed", before), ("ten taps", after), ("everything", every)):
    told = ", ".join(f"{name} {share:.0%}" for name, share in one.shares.items())
    print(f"Spread at the worst speed, {when}: {told}")
assert wide(after.tool) < 1.1 < 2 < wide(before.tool)
assert wide(after.margin_without_rubbing) < 0.7 * wide(before.margin_without_rubbing)
assert wide(sprung.margin_without_rubbing) < 1.3 < 2.5 < wide(before.margin_without_rubbing)
assert wide(every.margin) < 1.35 < 3.3 < wide(before.margin)
print("Tap with the drive switched off at the isolator, lightly, beside the edge and never on it.")
