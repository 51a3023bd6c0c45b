"""What carries the holder: found again from pulls whose post is known, and put under a model of the tool."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stickout.fem.bench.carried import SIDEWAYS, TILTING, UP, on_springs, post_of_pulls, without_springs
from stickout.fem.bench.evidence import Evidence, Note, PulledCompliance
from stickout.fem.bench.fit import fit_setup
from stickout.fem.bench.posterior import Drawn, predicted_compliance
from stickout.fem.bench.pull import BED, POST
from stickout.fem.compare.reduced import held_still, reduced_model
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import SPRING, TILT
from stickout.fem.setup.work_parts import Post
from stickout.fem.study.study import run_study

STUB = """units = "mm"
[bar]
section = "square"
width = 16
overhang = 30
gripped = 60
material = "steel"
[grip]
style = "bed"
[solve]
modes = 2
accuracy = 0.01
"""
WAYS = {UP: np.array([0.0, 0.0, 1.0]), SIDEWAYS: np.array([0.0, 1.0, 0.0])}
ARM, PLACE = 0.06, -0.03  # edge and middle of the gripped part [m]
TOOL = 2e-8


@pytest.fixture(scope="module")
def stub() -> Setup:
    """Return a short tool."""
    return parse_setup(STUB).setup


def pull(spring: float, tilt: float, *, at: float, way: str = UP, sd: float = 0.03) -> PulledCompliance:
    """Return a pull from the bed at a place by springs in series, in closed form."""
    return PulledCompliance(TOOL + 1 / spring + (at - PLACE) ** 2 / tilt, sd, at, at, WAYS[way], BED)


@pytest.mark.parametrize("way", [UP, SIDEWAYS])
def test_what_the_edge_feels_of_a_post(stub: Setup, way: str) -> None:
    """Eighty posts as the priors have them, pulled with 3 % of error: nine in ten inside, in few per cent."""
    rng, held, wide = np.random.default_rng(7), 0, []
    tool = np.full(400, TOOL)
    for _ in range(80):
        spring, tilt = (
            float(
                np.exp(0.5 * np.log(b.low * b.high) + np.log(b.high / b.low) / 3.29 * rng.standard_normal())
            )
            for b in (SPRING, TILT)
        )
        one = pull(spring, tilt, at=0.03, way=way)
        one = replace(one, compliance=one.compliance * np.exp(0.03 * rng.standard_normal()))
        found = post_of_pulls([one], [tool], setup=stub, seed=1)
        assert set(found.bands) == {way, TILTING}
        low, high = (
            1e-6 / getattr(found.bands[way], end) + ARM**2 / getattr(found.bands[TILTING], end)
            for end in ("high", "low")
        )
        held += low < 1 / spring + ARM**2 / tilt < high
        wide.append(high / low)
        assert found.strange is None
    assert held >= 68  # 72 expected, three standard deviations below
    assert max(wide) < 1.35


def test_two_distances_tell_spring_from_tilt(stub: Setup) -> None:
    """A soft spring with a stiff tilt and the reverse, alike at the edge: told by a pull further in."""
    tool = np.full(800, TOOL)
    for spring, tilt in ((1 / 1.5e-7, ARM**2 / 0.5e-7), (1 / 0.4e-7, ARM**2 / 1.6e-7)):
        pulls = [pull(spring, tilt, at=at, sd=0.01) for at in (0.03, 0.005)]
        found = post_of_pulls(pulls, [tool, tool], setup=stub, seed=1).bands
        assert found[UP].likely == pytest.approx(1e-6 * spring, rel=0.3)
        assert found[TILTING].likely == pytest.approx(tilt, rel=0.3)


def test_a_pull_that_no_post_explains(stub: Setup) -> None:
    """Stiffer than the tool alone, softer than any post: told, each with what to look at."""
    tool = np.full(400, 3e-7)
    for compliance, word in ((2e-7, "dial or load"), (6e-6, "slack")):
        one = PulledCompliance(compliance, 0.03, 0.03, 0.03, WAYS[UP], BED)
        assert word in (post_of_pulls([one], [tool], setup=stub, seed=1).strange or "")


def test_a_model_on_other_springs(stub: Setup) -> None:
    """Turned into by factors it is the model built on these springs; still, the one built without a post."""
    habit = reduced_model(without_springs(stub), places=[0.03])
    own = replace(stub, post=Post(spring_n_per_um=(25, 12, 8), tilt_nm_per_rad=15e3))
    built, bare = reduced_model(own, places=[0.03]), reduced_model(stub, places=[0.03])
    turned = on_springs(habit, np.array([1.0, 12 / 25, 8 / 25, 0.5, 0.5, 0.5]))
    drawn = Drawn([], {"none": np.zeros(1)})
    up = {base: PulledCompliance(1e-7, 0.01, 0.03, 0.03, WAYS[UP], base) for base in (BED, POST)}
    for base, one in up.items():
        told = [float(predicted_compliance(m, drawn, pulled=one)[0]) for m in (turned, built)]
        assert told[0] == pytest.approx(told[1], rel=1e-9), base
    without = float(predicted_compliance(bare, drawn, pulled=up[BED])[0])
    assert float(predicted_compliance(turned, drawn, pulled=up[POST])[0]) == pytest.approx(without, rel=1e-6)
    whole = float(predicted_compliance(turned, drawn, pulled=up[BED])[0])
    assert whole - without == pytest.approx(1 / 8e6 + ARM**2 / 15e3, rel=1e-6)
    assert held_still(bare) is bare


@pytest.mark.slow
def test_taps_and_a_pull_from_the_bed(stub: Setup) -> None:
    """The spring of a full study on its post is predicted, the grip is the tap's, one model is solved."""
    truth = replace(stub, post=Post(spring_n_per_um=(25, 12, 12), tilt_nm_per_rad=15e3))
    here, alone = run_study(truth), run_study(stub)
    note = Note(float(alone.frequency_hz[0]), 0.001, 0.02, 0.02)
    seen = PulledCompliance(float(here.compliance[2, 2]), 0.02, 0.03, 0.03, WAYS[UP], BED)
    found, tapped = (fit_setup(stub, Evidence([note], pulls)) for pulls in ([seen], []))
    told = found.predictions.compliance_along
    assert told.low < here.compliance[2, 2] < told.high
    assert found.full_solves == 1
    assert found.disagreement is None
    ours, theirs = found.before.compliance_along, tapped.before.compliance_along
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high), rel=0.03)
    key = "grip.bed_n_per_um_mm2"
    assert found.parameters[key].likely == pytest.approx(tapped.parameters[key].likely, rel=0.1)
    assert [name for name, _ in found.steps] == ["note", "damping", "post"]
