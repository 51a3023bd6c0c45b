"""Does ``fit`` recover a grip? Seeds with another grip, a model error of 0.5 to 1 % and a bench's noise.

Run ``python tests/benchmarks/bench_fit.py 100``, or ``20:40`` for some of them. The grip's stiffness and loss
should lie in their intervals nine times in ten, and the note at an overhang held back should be predicted
better than assumed every time.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from stickout.fem import read_setup
from stickout.fem.bench.evidence import Evidence, Note
from stickout.fem.bench.fit import fit_setup
from stickout.fem.bench.posterior import predicted_note, prior_draw
from stickout.fem.compare.inputs import setup_inputs
from stickout.fem.compare.measures import sampled_measures
from stickout.fem.compare.reduced import reduced_model

BAR = Path(__file__).parents[2] / "examples" / "boring_bar_16mm.toml"
HELD_BACK = 60.0


def main() -> None:
    """Print how often the truth was held."""
    first, _, last = (sys.argv[1] if len(sys.argv) > 1 else "20").rpartition(":")
    seeds = range(int(first or 0), int(last))
    setup = replace(read_setup(BAR).setup, cut=None)
    there = replace(setup, bar=replace(setup.bar, overhang_mm=HELD_BACK))
    here, away = reduced_model(setup), reduced_model(there)
    inputs = setup_inputs(setup, regions=["bar", "grip"], ties=here.ties, faces_lose=True)
    drawn = prior_draw(inputs, seed=7)
    notes = {
        m: predicted_note(one, drawn, note=Note(1000.0, 0.01)) for m, one in (("here", here), ("away", away))
    }
    faces = setup.grip.springs
    assert faces is not None
    held, better = np.zeros(3), 0
    for seed in seeds:
        rng = np.random.default_rng(seed)
        at = int(rng.integers(1, len(notes["here"])))
        eta = float(rng.uniform(0.05, 0.15))
        values = {key: one[at : at + 1].copy() for key, one in drawn.values.items()}
        values |= {one.key: np.zeros(1) for one in inputs if one.loss}
        values |= {one.key: np.full(1, eta) for one in inputs if any(", " in part for part in one.loss)}
        loss = float(
            sampled_measures(here, inputs, drawn=values, force=np.array([0.0, 0, 1])).values["loss_factor"][0]
        )
        error = rng.choice([-1, 1]) * rng.uniform(0.005, 0.01)
        note = Note(
            notes["here"][at] * (1 + error) * (1 + 5e-4 * rng.standard_normal()),
            5e-4,
            0.5 * loss * (1 + 0.02 * rng.standard_normal()),
            0.02,
        )
        found = fit_setup(setup, Evidence([note]), elsewhere=there)
        stiffness = found.parameters["grip.bed_n_per_um_mm2"]
        lost = found.parameters["grip.bed_loss_factor"]
        assert drawn.scale is not None
        true = drawn.scale[at] * faces.normal_n_per_um_mm2.likely
        now, then = found.predictions.frequency_hz, found.before.frequency_hz
        held += [
            stiffness.low <= true <= stiffness.high,
            lost.low <= eta <= lost.high,
            now.low <= notes["away"][at] * (1 + error) <= now.high,
        ]
        better += now.high - now.low < then.high - then.low
    for words, count in zip(("stiffness", "loss", f"note at {HELD_BACK:g} mm"), held, strict=True):
        print(f"{words} in its interval: {int(count)} of {len(seeds)}")
    print(f"narrower than assumed: {better} of {len(seeds)}")


if __name__ == "__main__":
    main()
