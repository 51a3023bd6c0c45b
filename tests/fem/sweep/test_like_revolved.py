"""Like bars of revolution solved together, against the same bars solved one by one on cells of their own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import setups
from like_setups import answered, lengths, setup_of
from scipy.linalg import eigh

from stickout.fem.revolved.bar import RevolvedBar
from stickout.fem.revolved.solve import cells_for, waves_of
from stickout.fem.study.frames import own_frame
from stickout.fem.study.of_revolution import SPACES, revolved_bar
from stickout.fem.study.study import run_study
from stickout.fem.sweep.family import family_answers
from stickout.fem.sweep.points import Points, likeness, point_of
from stickout.fem.sweep.revolved_spaces import RevolvedSpaces
from stickout.meshes.tagged import FloatArray

RIGID = setups.ROUND.replace('"bed"', '"rigid"').replace("gripped = 60\n", "")
TUBE = RIGID.replace('"round"', '"tube"\nbore = 13.6')


BED = "grip.bed_n_per_um_mm2"
OF_REVOLUTION = {
    "bed": lengths(setups.ROUND, 40, 52, 75, 120),
    "step and wrap": lengths(
        setups.ROUND + setups.WRAP + "[[bar.steps]]\nstart = 20\ndiameter = 12\n", 95, 100, 150
    ),
    "a thin tube that is oval at last": lengths(TUBE, 32, 60, 90, changes=["solve.modes=9"]),
    "a heavy edge beside the axis": [
        setup_of(setups.ROUND, "edge.mass_g=12", "edge.offset_y=4", "edge.offset_z=-3", f"{BED}={k}")
        for k in (0.5, 5)
    ],
}


@pytest.mark.parametrize("name", OF_REVOLUTION)
def test_a_family_of_bars_of_revolution_answers_as_each_alone(name: str) -> None:
    """Another route: cells of its own for every bar, its modes by inverse iteration."""
    several = OF_REVOLUTION[name]
    assert len({likeness(own_frame(one)[0]) for one in several}) == 1
    for found, setup in zip(answered(family_answers(several)), several, strict=True):
        alone = run_study(setup)
        n = len(found.frequency_hz)
        apart = np.abs(found.frequency_hz / alone.frequency_hz[:n] - 1)
        assert np.all(apart <= found.frequency_error + alone.frequency_error[:n])
        assert np.all(found.frequency_error < 3e-4)
        assert list(found.kinds) == list(alone.kinds[:n])
        assert found.moves.tolist() == alone.moves[:n].tolist()
        assert found.compliance == pytest.approx(
            alone.compliance, rel=1e-4, abs=1e-4 * alone.compliance.max()
        )
        for part, share in found.shares.items():
            assert share == pytest.approx(alone.shares[part][:n], abs=1e-3)


@pytest.mark.parametrize("tolerance", [3e-2, 1e-4, 1e-6])
def test_the_estimate_covers_what_a_space_of_revolution_misses(tolerance: float) -> None:
    """Rayleigh: a space reads high, by no more than it tells; the truth is the same cells, solved whole."""
    several = lengths(setups.ROUND, 45, 58, 80, 110, changes=["solve.modes=4"])
    points = Points.of([point_of(one) for one in several])
    fine = SPACES[0]
    spaces = RevolvedSpaces(several[-1], fine, points=points)
    spaces.grow(points, tolerance)
    told = spaces.told(points)
    assert told.error.max() <= tolerance
    longest = revolved_bar(several[-1])
    for row, setup in enumerate(several):
        truth = squeezed(revolved_bar(setup), longest, wanted=6)
        missed = told.frequency_hz[row] / truth - 1
        assert np.all(missed >= -1e-7)
        assert np.all(missed <= told.error[row] + 1e-7)


def squeezed(bar: RevolvedBar, longest: RevolvedBar, *, wanted: int) -> FloatArray:
    """Return frequencies [Hz] of a bar on the cells of the longest one, squeezed: pencils solved whole."""
    cells = cells_for(longest, SPACES[0], wanted=wanted)
    tip = longest.lengths[-1].stop
    cells = replace(cells, x=np.where(cells.x > 0, cells.x * bar.lengths[-1].stop / tip, cells.x))
    found = []
    for wave in waves_of(bar, cells, wanted=wanted).values():
        chain = wave.chain
        mass = chain.mass(np.eye(chain.n_unknowns))
        found += list(eigh(mass @ chain.solve(mass), mass, eigvals_only=True)[-wanted:])
    return np.sort(np.array(found) ** -0.5)[:wanted] / (2 * np.pi)
