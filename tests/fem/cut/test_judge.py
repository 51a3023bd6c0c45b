"""A cut is judged as far as it is asked, and the same whatever was asked before."""

from __future__ import annotations

from dataclasses import asdict

import cutting_cases
import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ndtr

from stickout.fem.cut.depths import _shift_for
from stickout.fem.cut.draws import SCATTER
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.sweep.case_answer import answer_of


def judged() -> JudgedCut:
    """Return a cut at three speeds, nothing asked yet."""
    return judged_result(cutting_cases.result("bed"))


def alike(one: SpeedVerdict, other: SpeedVerdict) -> bool:
    """Return whether two verdicts say the same; the last digits hang on the order of sums."""
    wholes = [asdict(each) for each in (one, other)]
    numbers = [[*each.pop("margin").values(), *each.pop("depth")] for each in wholes]
    for found, whole in zip(numbers, wholes, strict=True):
        found += [whole.pop(name) for name, value in list(whole.items()) if type(value) is float]
    return wholes[0] == wholes[1] and numbers[0] == pytest.approx(numbers[1], rel=1e-9)


def test_the_worst_speed_alone_is_what_it_is_among_all() -> None:
    """Two ways to ask: the worst speed alone first, or all speeds at once; and only what is asked is kept."""
    one, other = judged(), judged()
    worst = one.worst
    assert list(one.judge.kept) == [one.judge.found.worst]
    for number, (a, b) in enumerate(zip(one.verdict.speeds, other.verdict.speeds, strict=True)):
        assert alike(a, b)
        if number == other.verdict.worst:
            assert alike(b, worst)
    assert (
        one.verdict.depth
        == worst.depth
        == tuple(getattr(one.depth, end) for end in ("low", "likely", "high"))
    )


def test_a_row_of_a_sweep_says_what_the_cut_says() -> None:
    """Margin, depth, pitch, chance and word of a row are those of the worst of all speeds."""
    row, worst = answer_of(cutting_cases.result("bed")).cut, judged().verdict
    told = worst.speeds[worst.worst]
    assert row is not None
    assert row.margin == pytest.approx((told.margin.low, told.margin.likely, told.margin.high), rel=1e-12)
    assert row.depth == pytest.approx(told.depth, rel=1e-9)
    assert (row.chatter_hz, row.p_quiet) == pytest.approx((told.chatter_hz, told.p_quiet), rel=1e-9)
    assert row.verdict == told.verdict


@pytest.mark.parametrize("level", [0.3, 0.7])
@pytest.mark.parametrize("spread", [0.0, 0.1, 1.0, 4.0])
def test_what_brings_a_chance_to_a_level(level: float, spread: float) -> None:
    """Reference: SciPy's root of the chance as its definition has it, draws bunched and far apart."""
    rng = np.random.default_rng(7)
    score, weights = rng.normal(0.5, spread, 300), rng.random(300)
    weights /= weights.sum()
    wanted = brentq(lambda x: weights @ ndtr((score + x) / SCATTER) - level, -29.0, 29.0, xtol=1e-12)
    assert _shift_for(score, weights, level=level) == pytest.approx(wanted, abs=1e-8)


def test_what_no_factor_brings_to_a_level_ends_at_the_farthest() -> None:
    """Margins without an end: no factor that is looked at makes them sing."""
    assert _shift_for(np.full(10, np.inf), np.full(10, 0.1), level=0.3) == pytest.approx(-30.0)
