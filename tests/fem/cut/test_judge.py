"""A cut is judged as far as it is asked, and the same whatever was asked before."""

from __future__ import annotations

import cutting_cases
import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ndtr

from stickout.fem.cut.depths import _shift_for
from stickout.fem.cut.draws import SCATTER
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.sweep.case_answer import answer_of


def judged() -> JudgedCut:
    """Return a cut at three speeds, nothing asked yet."""
    return judged_result(cutting_cases.result("bed"))


def test_the_worst_speed_alone_is_what_it_is_among_all() -> None:
    """Two ways to ask: the worst speed alone first, or all speeds at once; and only what is asked is kept."""
    one, other = judged(), judged()
    worst = one.worst
    assert list(one.judge.kept) == [one.judge.found.worst]
    assert other.verdict.speeds[other.verdict.worst] == worst
    assert one.verdict.speeds == other.verdict.speeds
    assert (
        one.verdict.depth
        == worst.depth
        == tuple(getattr(one.depth, end) for end in ("low", "likely", "high"))
    )


def test_a_row_of_a_sweep_says_what_the_cut_says() -> None:
    """Margin, depth, pitch, chance and word of a row are those of the worst of all speeds."""
    row, worst = answer_of(cutting_cases.result("bed")).cut, judged().verdict
    said = worst.speeds[worst.worst]
    assert row is not None
    assert row.margin == pytest.approx((said.margin.low, said.margin.likely, said.margin.high), rel=1e-12)
    assert (row.depth, row.chatter_hz, row.p_quiet) == (said.depth, said.chatter_hz, said.p_quiet)
    assert row.verdict == said.verdict


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
