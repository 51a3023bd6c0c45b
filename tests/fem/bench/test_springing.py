"""Spring passes: what comes off against a pass solved by hand, and the force found again."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from setups import CUT, ROUND

from stickout.fem.bench.evidence import Evidence, Note
from stickout.fem.bench.fit import fit_setup
from stickout.fem.bench.margins import Unheard, drawn_unheard
from stickout.fem.bench.shares import shapley
from stickout.fem.bench.springing import SpringPass, after_springing, predicted_came_off
from stickout.fem.errors import InputError
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import HeardCut
from stickout.fem.study.study import run_study

# The common bar and cut, at no speed in particular.
BAR = ROUND + CUT.partition("speeds_rpm")[0]
SOFT = 0.45e-6
TRUE = "bed_n_per_um_mm2 = 0.9\nbed_shear_ratio = 0.5\nbed_loss_factor = 0.09"


@pytest.fixture(scope="module")
def case() -> CutCase:
    """Return the boring cut."""
    return cut_case(parse_setup(BAR).setup)


def draws(n: int = 1, **values: float) -> Unheard:
    """Return draws of which all are alike, likely but for what is given."""
    usual = {"force": 1.0, "thrust": 1.0, "rub": 1.0, "steep": 1.0, "give": 0.0}
    return Unheard(**{key: np.full(n, values.get(key, one)) for key, one in usual.items()})


def off(case: CutCase, one: SpringPass, unheard: Unheard, soft: float = SOFT) -> float:
    """Return what comes off for a bar of one compliance in every direction."""
    n = len(unheard.force)
    static = np.broadcast_to(soft * np.eye(3), (n, 3, 3))
    return float(predicted_came_off(one, case, static=static, unheard=unheard)[0])


def by_hand(case: CutCase, *, soft: float, passes: int) -> float:
    """Return the same pass by pass: depth cut and what it springs add up to what is there."""
    found, left = case.depth, []
    for _ in range(passes + 1):

        def push(a: float) -> float:
            return soft * abs(float(case.directions.rotation[0] @ case.force_at(a))) if a > 0 else 0.0

        cut = brentq(lambda a, there=found: a + push(a) - there, 0.0, found)
        found = push(cut)
        left.append(found)
    return 2.0 * (left[0] - left[-1])


@pytest.mark.parametrize("passes", [1, 2, 4])
@pytest.mark.parametrize("soft", [0.2e-6, 2e-6])
def test_what_comes_off(case: CutCase, passes: int, soft: float) -> None:
    """Each pass by Brent's method on the cut's own force along the radius."""
    told = off(case, SpringPass(0.0, passes=passes), draws(), soft=soft)
    assert told == pytest.approx(by_hand(case, soft=soft, passes=passes), rel=0.01)


def test_factors(case: CutCase) -> None:
    """In the limit of a stiff tool what comes off goes with force, thrust and compliance, one by one."""
    one, stiff = SpringPass(0.0), 1e-9
    base = off(case, one, draws(), soft=stiff)
    assert off(case, one, draws(force=1.3), soft=stiff) == pytest.approx(1.3 * base, rel=1e-3)
    assert off(case, one, draws(thrust=1.2), soft=stiff) == pytest.approx(1.2 * base, rel=1e-3)
    assert off(case, one, draws(give=stiff), soft=stiff) == pytest.approx(2.0 * base, rel=1e-3)
    # For one slope a power of 0.9 of the likely one means a force greater by 1/0.9, at the chip of the cut.
    assert off(case, one, draws(steep=0.9), soft=stiff) == pytest.approx(base / 0.9, rel=1e-3)
    twice = replace(one, feed_mm=0.1)
    more = off(case, twice, draws(), soft=stiff) / base
    steep = off(case, twice, draws(steep=0.9), soft=stiff) / off(case, one, draws(steep=0.9), soft=stiff)
    assert math.log(steep) < math.log(more)


def test_the_force_is_found(case: CutCase) -> None:
    """Sixty draws taken as the truth, read with 2 µm: the product of force and thrust within nine in ten."""
    every = drawn_unheard(case)
    n = len(every.force)
    static = np.broadcast_to(SOFT * np.eye(3), (n, 3, 3))
    rng, held, wide = np.random.default_rng(5), 0, []
    plan = [SpringPass(0.0, 2, 2e-6, 0.5, feed) for feed in (0.1, 0.3)]
    told = [predicted_came_off(one, case, static=static, unheard=every) for one in plan]
    product = np.log(every.force * every.thrust)
    for at in range(60):
        passes = [
            replace(one, came_off=float(off[at]) + one.sd * rng.standard_normal())
            for one, off in zip(plan, told, strict=True)
        ]
        weights, _ = after_springing(passes, case, statics=[static] * len(passes), unheard=every)
        order = np.argsort(product)
        low, high = np.interp([0.05, 0.95], np.cumsum(weights[order]), product[order])
        held += bool(low <= product[at] <= high)
        wide.append(high - low)
    assert held >= 48  # fewer than one in 100 at nine in ten
    assert np.exp(np.median(wide)) < 1.4


def test_a_spring_out_of_reach_is_told(case: CutCase) -> None:
    """Five times what any draw says: told, and in words."""
    every = drawn_unheard(case)
    static = np.broadcast_to(SOFT * np.eye(3), (len(every.force), 3, 3))
    usual = float(np.median(predicted_came_off(SpringPass(0.0), case, static=static, unheard=every)))
    far = SpringPass(10.0 * usual, reading=1e-6)
    assert "more" in (after_springing([far], case, statics=[static], unheard=every)[1] or "")
    near = SpringPass(usual, reading=1e-6)
    assert after_springing([near], case, statics=[static], unheard=every)[1] is None


def test_taps_and_spring_passes_make_1_3_of_2_6() -> None:
    """The margin without rubbing; tapped is a full study of a known seat, its force above the table's."""
    true_bar = BAR.replace('style = "bed"', f'style = "bed"\n{TRUE}')
    setup, known = parse_setup(BAR).setup, run_study(parse_setup(true_bar).setup)
    note = Note(float(known.frequency_hz[0]), 5e-4, float(known.loss.likely[0]) / 2, 0.02)
    soft, more, give, case = float(known.compliance[2, 2]), 1.2, 4e-8, cut_case(setup)
    unheard = draws(force=more, give=give)
    passes = [
        SpringPass(off(case, SpringPass(0.0, 2, 2e-6, 0.5, feed), unheard, soft=soft), 2, 2e-6, 0.5, feed)
        for feed in (0.1, 0.3)
    ]
    fitted = fit_setup(setup, Evidence([note], sprung=passes))
    before, after = fitted.before.margin_without_rubbing, fitted.predictions.margin_without_rubbing
    assert before is not None
    assert after is not None
    alone = fitted.steps[1][1].margin_without_rubbing
    assert alone is not None
    assert before.high / before.low > 2.4
    assert after.high / after.low < 1.36
    # The margin goes with one over force times thrust, whose middle in the bands lies a little below one.
    drawn = drawn_unheard(case)
    true = alone.likely * float(np.median(drawn.force * drawn.thrust)) / more
    assert after.low < true < after.high
    assert [name for name, _ in fitted.steps] == ["note", "damping", "sprung"]
    assert fitted.disagreement is None
    assert fitted.full_solves == 1


def test_spring_passes_need_a_cut() -> None:
    """Without a cut no force is known to set them against: refused in one message."""
    bare = parse_setup(BAR[: BAR.index("[cut]")]).setup
    with pytest.raises(InputError, match="cut"):
        fit_setup(bare, Evidence(sprung=[SpringPass(1e-5)]))


def test_shares() -> None:
    """Independent columns: squares of the slopes; a copy shares alike (both by hand)."""
    rng = np.random.default_rng(1)
    a, b, c = rng.standard_normal((3, 20_000))
    told = shapley({"a": a, "b": b, "c": c}, 2.0 * a + b)
    assert told == pytest.approx({"a": 0.8, "b": 0.2, "c": 0.0}, abs=0.02)
    same = shapley({"a": a, "again": a}, a)
    assert same == pytest.approx({"a": 0.5, "again": 0.5}, abs=1e-6)


@pytest.mark.slow
def test_passes_at_another_overhang() -> None:
    """Made 60 mm out, where the bar is stiffer: the same metal for less that comes off, by a second model."""
    setup = parse_setup(BAR).setup
    note = Note(1200.0, 0.001, 0.02, 0.02)
    here = SpringPass(22e-6, 2, 2e-6, 0.5, 0.1)
    far = fit_setup(setup, Evidence([note], sprung=[here]))
    near = fit_setup(setup, Evidence([note], sprung=[replace(here, overhang_mm=60.0)]))
    assert (far.full_solves, near.full_solves) == (1, 2)
    key = "measured.push"
    assert near.parameters[key].likely > 1.15 * far.parameters[key].likely


@pytest.mark.slow
def test_the_push_that_is_written_leaves_cuts_heard_out() -> None:
    """They stand in the set-up too and count there: in the push as well they would count twice."""
    setup = parse_setup(BAR).setup
    note, passes = Note(1200.0, 0.001, 0.02, 0.02), [SpringPass(22e-6, 2, 2e-6, 0.5, 0.1)]
    cuts = [HeardCut(rpm=300, heard="sang", depth_mm=0.02) for _ in range(4)]
    alone, heard = (fit_setup(setup, Evidence([note], sprung=passes, cuts=one)) for one in ([], cuts))
    assert heard.parameters == alone.parameters
    assert heard.predictions.margin != alone.predictions.margin
