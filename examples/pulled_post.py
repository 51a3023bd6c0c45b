"""Two pulls, synthetic, with the dial on the bed: a verdict of "quiet" turns, since post and slides give too.

The readings are made here, from a post that gives 12 N/µm sideways and up and tilts on 15 kN m/rad, so that
the true answer is known; no dial stood on a lathe. Run it with ``python examples/pulled_post.py``.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np

from stickout.fem import cut_answer, read_setup, run_study
from stickout.fem.bench.evidence import Evidence, compliance_of
from stickout.fem.bench.fit import fit_setup
from stickout.fem.bench.pull import BED, Pull, read_pull
from stickout.fem.setup.measured import measured_table, with_measured
from stickout.fem.setup.parts import Measured, Setup
from stickout.fem.setup.work_parts import Post

MM, SPRING, TILT = 1e-3, 12e6, 15e3
bare = read_setup(Path(__file__).with_name("measured_post.toml"), leave_out=("post",)).setup
rng = np.random.default_rng(3)


def pulled(at: float) -> Pull:
    """Return loads up and down again at a distance from the holder [m], and a dial read to a micrometre."""
    arm = at + 0.5 * (bare.bar.gripped_mm or 0.0) * MM
    bending = 210e9 * 0.016**4 / 12
    compliance = 1 / SPRING + arm**2 / TILT + at**3 / (3 * bending)
    loads = np.array([0.0, 50, 100, 150, 200, 150, 100, 50, 0])
    readings = 1e-6 * np.round(1e6 * compliance * loads + rng.standard_normal(len(loads)))
    return Pull(BED, at, at, loads, readings, "up")


def odds(setup: Setup) -> list[int]:
    """Return how many cuts of ten stay quiet at each speed."""
    return [round(10 * one.p_quiet) for one in cut_answer(run_study(setup)).verdict.speeds]


found = [compliance_of(read_pull(pulled(at))) for at in (0.030, 0.010)]
fitted = fit_setup(bare, Evidence(compliances=[one for one in found if one is not None]))
up, tilt = (fitted.parameters[key] for key in ("post.up_n_per_um", "post.tilt_nm_per_rad"))
arm = (bare.bar.overhang_mm + 0.5 * (bare.bar.gripped_mm or 0.0)) * MM
true = 1 / SPRING + arm**2 / TILT
told = sorted(1e-6 / one + arm**2 / other for one, other in ((up.low, tilt.low), (up.high, tilt.high)))
print(f"Post and slides at the edge: {1e6 * told[0]:.3f} to {1e6 * told[1]:.3f} µm/N, truly {1e6 * true:.3f}")
assert told[0] < true < told[1]
assert fitted.disagreement is None

measured = Measured(post_up_n_per_um=up, post_tilt_nm_per_rad=tilt, origin="two pulls, made up")
mine = with_measured(replace(bare, post=Post()), measured_table(measured))
truth = replace(bare, post=Post(spring_n_per_um=(25, 12, 12), tilt_nm_per_rad=TILT))
before, after, right = (odds(one) for one in (bare, mine, truth))
speeds = "" if bare.cut is None else ", ".join(f"{one:g}" for one in bare.cut.speeds_rpm or ())
print(f"Cuts of ten that stay quiet at {speeds} rpm")
print(f"  post taken as rigid {before}, as pulled {after}, as it is {right}")
assert min(before) >= 7 > 3 >= max(after)
assert max(abs(one - other) for one, other in zip(after, right, strict=True)) <= 2
