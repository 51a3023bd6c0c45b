"""The cut of FE results: against closed forms, an independent time simulation, and whole reruns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chatter_references import mode_margins, modes_only
from cutting_cases import BORE, answer, result, worst_turn
from delayed import simulated_growth

from stickout.fem.chatter.depth import depth_scan
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.models import trimmed
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.force.case import case_of


def modes_of(name: str, count: int) -> ModalModel:
    """Return the first modes of a case alone, viscous, as the simulation wants them."""
    tool = answer(name).tool
    return modes_only(tool.omega[:count], tool.phi[:count], eta=tool.eta[:count], viscous=True)


def test_one_mode_of_a_result_against_the_closed_form() -> None:
    """Closed form, structural damping: margin = k eta / |d|, d = phi.A.phi/omega^2; b.negu for the sign."""
    found = answer("flatted")
    alone = modes_only(found.tool.omega[:1], found.tool.phi[:1], eta=found.tool.eta[:1])
    matrix = found.case.stiffness
    drive = float(alone.phi[0] @ matrix @ alone.phi[0]) / float(alone.omega[0]) ** 2
    # 1e-9 is the search's own reach (tests/test_cut_stability.py).
    assert float(absolute_limit(alone, matrix).margin) == pytest.approx(
        float(alone.eta[0]) / abs(drive), rel=1e-8
    )


def test_a_round_bar_feels_the_passive_force_only() -> None:
    """Closed form for an isotropic pair: one mode along the feed-free motion, capacity k eta over Kr Bpp.

    With both bending modes alike G is c(w) times the identity across the bar, so the eigenvalue of G A is
    c(w) times App; the rest of A couples nothing, since the bar is stiff along its axis.
    """
    found = answer("round")
    pair = modes_of("round", 2)
    structural = replace(pair, viscous=False)
    stiff = float(structural.omega[0]) ** 2 / float(structural.phi[0] @ structural.phi[0])
    passive = found.case.directions.passive
    demand = float(passive @ found.case.stiffness @ passive)
    expected = stiff * float(structural.eta[0]) / demand
    # Equal to the two modes' difference in frequency, 1e-6.
    assert float(absolute_limit(structural, found.case.stiffness).margin) == pytest.approx(expected, rel=1e-5)
    # Residual and higher modes raise the limit by a little, c.residual.blim: within 3 %.
    assert 0.99 < float(found.limit.margin) / expected < 1.03


@pytest.mark.parametrize(
    ("name", "count", "per_period"), [("flatted", 1, 40), ("flatted", 2, 40), ("round", 2, 40)]
)
def test_simulation_brackets_modes_of_a_result(name: str, count: int, per_period: int) -> None:
    """Independent time steps: one and two FE modes are quiet 2 % below the limit and grow 2 % above."""
    model, matrix = modes_of(name, count), answer(name).case.stiffness
    assert_bracketed(model, matrix, per_period)


def test_simulation_brackets_a_nose_case_drawn_from_the_solid() -> None:
    """All that the trimmed FE model holds, residual and the coupling of an offset edge included; 3x3 nose."""
    found = answer("flatted")
    model = replace(trimmed(found.tool, found.limit), viscous=True)
    assert len(model.omega) == 2
    assert (
        np.abs(model.phi[:, 0]).max() > 0.05 * np.abs(model.phi).max()
    )  # the offset edge moves along the bar
    assert_bracketed(model, found.case.stiffness, 40)


def assert_bracketed(model: ModalModel, matrix: np.ndarray, per_period: int) -> None:
    """Assert that the limit at the worst speed of lobe 1, and between lobes, is right within 2 %."""
    turn = worst_turn(model, matrix, 1)
    for delay in (turn, 1.17 * turn):
        margin = float(limits_at_speeds(model, matrix, speeds_rpm=[60.0 / delay]).margin[0])
        trials = margin * np.array([0.98, 1.02])[:, None, None] * matrix
        periods = 2 * np.pi / model.omega.min()
        growth = simulated_growth(model, trials, delay=delay, duration=400 * periods, per_period=per_period)
        assert growth[0] < 0.0 < growth[1], (delay, growth)


def test_the_whole_model_against_its_trimmed_form() -> None:
    """High modes in the residual move the margin by less than 1e-3."""
    for name in ("round", "flatted", "bed", "square"):
        found = answer(name)
        few = trimmed(found.both, found.limit)
        assert len(few.omega) < len(found.both.omega)
        assert float(absolute_limit(few, found.case.stiffness).margin) == pytest.approx(
            float(found.limit.margin), rel=1e-3
        )
        rubbed = speed_margins(found.case, few)
        assert rubbed.margin[rubbed.worst] == pytest.approx(found.margin, rel=1e-3)


def test_the_depth_limit_is_where_the_margin_is_one() -> None:
    """Definition, on a cut whose depth does limit; 1e-3 is what fem.chatter.depth promises, and some more."""
    found = answer("square")
    depths = np.geomspace(1e-6, found.deepest, 18)
    limit = float(depth_scan(found.both, found.case.matrix, depths=depths).limit[0])
    assert 0.0 < limit < found.deepest
    at = case_of(replace(found.case.cut, depth_mm=1e3 * limit))
    assert float(absolute_limit(found.both, at.stiffness).margin) == pytest.approx(1.0, rel=1e-3)
    assert not found.saturated


def test_beyond_the_nose_depth_does_not_limit() -> None:
    """Computed apart: at 95 degrees the passive width saturates at pi r/4, so r sets the limit."""
    found = answer("round")
    assert found.saturated
    # Half the radius halves the width, but the chip changes all along: 1.82. From 1 to 0.05 mm depth takes
    # 22 %, so less than that here.
    dry = float(found.limit.margin)
    changed = (replace(BORE, nose_radius_mm=0.2), replace(BORE, depth_mm=0.1))
    nose, depth = (float(absolute_limit(found.both, case_of(one).stiffness).margin) / dry for one in changed)
    assert nose == pytest.approx(1.82, rel=0.02)
    assert depth < 1.25
    # Verdict page, 3.2: what the flank adds, held wave over wave, does not depend on the width of the cut.
    stated = found.verdict.stated
    added = found.verdict.wave_star.likely / stated.wavelength
    lever = next(one for one in found.levers if one.key == "nose_radius")
    # First order in the wave: the exact value lies 3 to 18 % higher, most where the flank adds most.
    assert lever.before.margin == pytest.approx(dry + added, rel=0.1)
    assert lever.after.margin == pytest.approx(nose * dry + added, rel=0.1)


def test_the_limiting_mode_is_the_one_whose_own_margin_is_least() -> None:
    """Own measure against the closed form of each mode alone; and it may be another than the aligned one."""
    for name in ("flatted", "square"):
        found = answer(name)
        alone = mode_margins(found.tool, found.case.stiffness)
        assert found.limiting == int(np.argmin(alone)), name
    assert answer("square").limiting != result("square").aligned


def test_speeds_meet_the_absolute_limit_from_above() -> None:
    """Principle: no speed is worse than the worst; waves a turn times turns is the note."""
    found = answer("round")
    assert [one.speed_rpm for one in found.speeds] == list(BORE.speeds_rpm or ())
    for one in found.speeds:
        assert one.margin >= found.margin * (1 - 1e-6)
        assert one.wavelength is not None
        assert one.waves * one.wavelength == pytest.approx(np.pi * 0.024, rel=1e-9)  # round the bore
