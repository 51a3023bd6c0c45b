"""What the cut of a result hangs on: levers against whole reruns, bands, losses, spring-off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cutting_cases import BED, BORE, FLATTED, ROUND, SQUARE, answer, result

import stickout.fem.chatter.stability
import stickout.fem.cut.models
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.answer import cut_answer
from stickout.fem.cut.levers import overhang_for
from stickout.fem.cut.low_speed import rubbing_of
from stickout.fem.cut.models import COARSE, coarse_model, softened
from stickout.fem.cut.spread import with_grip
from stickout.fem.cut.turned import turned_bar
from stickout.fem.errors import InputError
from stickout.fem.force.case import case_of, cut_case, rotation_between
from stickout.fem.setup.bands import exactly
from stickout.fem.setup.changes import shortened
from stickout.fem.setup.grips import BedGrip
from stickout.fem.setup.joints import Joint
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.fem.study.study import run_study
from stickout.meshes.parts import Step
from stickout.meshes.pieces import Fineness


@pytest.mark.parametrize("key", ["nose_radius", "feed", "depth"])
def test_levers_of_the_cut_against_a_rerun(key: str) -> None:
    """The factor is the ratio of two whole answers."""
    found = answer("flatted")
    lever = next(one for one in found.levers if one.key == key)
    other = cut_answer(
        replace(found.result, setup=replace(FLATTED, cut=replace(BORE, **{f"{key}_mm": lever.change})))
    )
    assert lever.factor == pytest.approx(other.margin / found.margin, rel=1e-9)


def test_the_overhang_lever_against_a_rerun() -> None:
    """Two coarse meshes give the ratio that two converged studies give, within 1 %."""
    shorter = shortened(FLATTED)
    assert shorter is not None
    again = cut_answer(run_study(shorter))
    lever = next(one for one in answer("flatted").levers if one.key == "overhang")
    assert lever.change == pytest.approx(72.0)
    assert lever.factor == pytest.approx(again.margin / answer("flatted").margin, rel=0.01)


def test_the_overhang_that_would_do() -> None:
    """A power law through 10 %: where it says the margin is one, a rerun finds one within 15 %."""
    found = answer("round")
    wanted = overhang_for(found.levers, 80.0, margin=found.margin)
    assert wanted is not None
    rerun = cut_answer(run_study(replace(ROUND, bar=replace(ROUND.bar, overhang_mm=wanted))))
    assert rerun.margin == pytest.approx(1.0, rel=0.15)
    assert overhang_for(found.levers, 80.0, margin=1.2) is None
    assert overhang_for([], 80.0, margin=0.5) is None


def test_the_rotation_lever_against_a_rerun() -> None:
    """Turning the model is turning the section: flats turned in the set-up give the margin of the plot."""
    found = answer("flatted")
    # The edge sits on the axis here: an offset edge keeps its place while the section turns.
    setup = replace(FLATTED, edge=replace(FLATTED.edge, offset_y_mm=0.0))
    now = cut_answer(run_study(setup))
    plot = turned_bar(now.case, now.tool, work=None, rotation_deg=30.0)
    for rotation in (0.0, 60.0, 120.0):
        other = cut_answer(run_study(replace(setup, bar=replace(setup.bar, rotation_deg=rotation))))
        # Two meshes of unlike sections, each good to 0.1 % in frequency.
        assert plot.at(rotation) == pytest.approx(other.margin, rel=0.01), rotation
    assert plot.at(30.0) == pytest.approx(now.margin, rel=1e-9)
    assert any(one.key == "rotation" for one in found.levers)
    assert not any(one.key == "rotation" for one in answer("round").levers)


def test_good_windows_hold_the_best_and_leave_out_the_worst() -> None:
    """Windows are read from the curve: every angle inside is good, the worst lies outside."""
    plot = answer("flatted").turned
    inside = np.zeros(len(plot.angles_deg), dtype=bool)
    for start, stop in plot.windows:
        for turn in (0.0, 180.0):
            inside |= (plot.angles_deg + turn >= start) & (plot.angles_deg + turn <= stop)
    assert np.array_equal(inside, plot.margin >= 0.7 * plot.best)
    assert not inside[np.argmin(plot.margin)]
    assert not plot.alike
    assert plot.at(plot.best_deg) >= 0.7 * plot.best


def test_coarse_ratios() -> None:
    """Own record: the mesh for levers gives ratios within 0.3 % of one with half its cells' length."""
    fine = Fineness(3, 1, 0.15, 0.5, 0.07)
    for setup in (BED, FLATTED):
        case, other = cut_case(setup), shortened(setup)
        assert other is not None
        ratios = []
        for mesh in (COARSE, fine):
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(stickout.fem.cut.models, "COARSE", mesh)
                limits = [
                    float(absolute_limit(coarse_model(one), case.stiffness).margin) for one in (setup, other)
                ]
            ratios.append(limits[1] / limits[0])
        assert ratios[0] == pytest.approx(ratios[1], rel=3e-3)


def test_a_softer_root_by_the_rule() -> None:
    """Computed apart from the program: half a diameter of root softness, k -30 %, f -21 %."""
    tool = answer("round").tool
    soft = softened(tool, 0.70)
    assert soft.omega[0] / tool.omega[0] == pytest.approx(0.79, abs=0.005)  # two printed digits
    stiff = [float(m.omega[0]) ** 2 / float(m.phi[0] @ m.phi[0]) for m in (tool, soft)]
    assert stiff[1] / stiff[0] == pytest.approx(0.70)
    assert np.allclose(soft.static * 0.70, tool.static)


def test_bands_of_the_answer() -> None:
    """Low, likely, high in order; the same set-up gives the same band; what is known narrows it."""
    for name in ("round", "bed", "square"):
        spread = answer(name).spread.margin
        assert 0.0 < spread.low < spread.likely < spread.high
    again = cut_answer(result("bed")).spread.margin
    assert (again.low, again.high) == (answer("bed").spread.margin.low, answer("bed").spread.margin.high)
    assert answer("bed").spread.margin.narrows_most == "loss"
    assert answer("round").spread.bands["loss"].high == 1.0  # given by the user: no band
    assert answer("round").spread.margin.narrows_most != "loss"


def test_a_band_of_force_alone_is_its_reciprocal() -> None:
    """Closed form: the margin is one over the coefficient; a triangle over its logarithm has known tenths."""
    setup = replace(
        ROUND, bar=replace(BED.bar), grip=BedGrip(Joint(exactly(2.5), exactly(0.5), exactly(0.03)))
    )
    spread = cut_answer(run_study(setup)).spread
    low, high = spread.bands["force coefficient"].low, spread.bands["force coefficient"].high
    below, above = -np.log(low), np.log(high)
    tenth = np.exp(-below + np.sqrt(0.1 * (below + above) * below))
    # Grip bands of 20 % either way widen it by a few per cent.
    assert spread.margin.high / spread.margin.likely == pytest.approx(1 / tenth, rel=0.05)


def test_few_solves_and_few_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cost as a count: four coarse solves at most, and batches whose number does not grow with samples."""
    solves, batches = [], []
    solve, valleys = stickout.fem.cut.models.solve_level, stickout.fem.chatter.stability.valleys
    monkeypatch.setattr(stickout.fem.cut.models, "solve_level", lambda *a: (solves.append(a), solve(*a))[1])
    monkeypatch.setattr(
        stickout.fem.chatter.stability, "valleys", lambda *a, **k: (batches.append(a), valleys(*a, **k))[1]
    )
    cut_answer(result("bed"))
    assert len(solves) == 4  # base, 10 % shorter, grip at both ends
    assert len(batches) < 100  # 240 samples, two levels, two results


def test_loss_of_the_clamping_is_put_in_only_where_none_was_given() -> None:
    """Computed apart from the program: clamped bars measure ratios of 0.5 to 3 %; bare steel has 3e-4."""
    assert answer("round").loss.given
    assert answer("round").loss.loss.likely[0] == pytest.approx(0.04)
    for name in ("bed", "square"):
        found = answer(name)
        assert not found.loss.given
        metal = result(name).loss.low[0]
        for side in ("low", "likely", "high"):
            assert getattr(found.loss.loss, side)[0] >= getattr(CLAMPED, side)
        assert found.loss.loss.low[0] == pytest.approx(CLAMPED.low, abs=2 * metal)
    nothing = replace(ROUND, materials={"bar": replace(ROUND.materials["bar"], loss_factor=exactly(0.0))})
    with pytest.raises(InputError, match="above 0 for a cut"):
        cut_answer(run_study(nothing))


def test_spring_off_is_the_compliance_times_the_force() -> None:
    """Statics: radial part of C F; passes leave less each time; a drop takes clearance."""
    found = answer("round")
    push = result("round").compliance @ found.case.on_tool
    assert found.spring.radial == pytest.approx(-push[1])
    assert found.spring.edge == pytest.approx(push)
    left = found.spring.left
    assert np.all(np.diff(left) < 0)
    # At the first pass true depth and push add up to the setting (own balance).
    assert left[0] == pytest.approx(found.spring.radial, rel=0.05)  # the push of a little less depth
    bore = found.spring.bore
    assert bore is not None
    assert bore.drop == pytest.approx(-push[2])
    assert bore.clearance_lost == pytest.approx(bore.drop / 0.012, rel=1e-3)  # small angle
    assert answer("square").spring.bore is None


def test_a_given_direction_turns_the_whole_cut() -> None:
    """Own rule: sizes are the model's, the direction the user's; the model's own changes nothing."""
    plain = cut_case(ROUND)
    same = case_of(replace(BORE, force_direction=tuple(3.0 * plain.on_tool)))
    assert np.allclose(same.stiffness, plain.stiffness)
    other = case_of(replace(BORE, force_direction=(0.0, 0.0, -1.0)))
    assert np.linalg.norm(other.on_tool) == pytest.approx(np.linalg.norm(plain.on_tool))
    assert other.on_tool / np.linalg.norm(other.on_tool) == pytest.approx([0.0, 0.0, -1.0])
    assert (other.force.c, other.force.p) == pytest.approx((np.linalg.norm(plain.on_tool), 0.0), abs=1e-9)
    assert np.linalg.norm(other.stiffness) == pytest.approx(np.linalg.norm(plain.stiffness))


@pytest.mark.parametrize("end", [(1.0, 0.0, 0.0), (0.0, -1.0, 2.0), (-1.0, 0.0, 0.0)])
def test_rotation_between_directions(end: tuple[float, float, float]) -> None:
    """Principle: a proper rotation that takes one to the other, also half a turn."""
    start, target = np.array([2.0, 0.0, 0.0]), np.array(end)
    turn = rotation_between(start, target)
    assert np.allclose(turn @ turn.T, np.eye(3))
    assert np.linalg.det(turn) == pytest.approx(1.0)
    assert np.allclose(turn @ start / 2.0, target / np.linalg.norm(target))


def test_what_can_be_shortened() -> None:
    """Steps move back with the end; a step that would vanish into the holder leaves no lever."""
    stepped = replace(ROUND, bar=replace(ROUND.bar, steps=(Step(start_mm=40, diameter_mm=12),)))
    new = shortened(stepped)
    assert new is not None
    assert (new.bar.overhang_mm, new.bar.steps[0].start_mm) == (72.0, 32.0)
    early = replace(ROUND, bar=replace(ROUND.bar, steps=(Step(start_mm=6, diameter_mm=12),)))
    assert shortened(early) is None


def test_the_grip_factor_changes_the_faces_only() -> None:
    """A perfect grip has none to change."""
    assert with_grip(SQUARE, 0.5) is SQUARE
    grips = [one.grip for one in (with_grip(BED, 0.5), BED)]
    stiff = [one.bed.normal_n_per_um_mm2.likely for one in grips if isinstance(one, BedGrip)]
    assert stiff[0] == 0.5 * stiff[1]


def test_the_speed_lever_is_a_trend_with_a_band() -> None:
    """Half the speed, twice the rubbing: never worse, a band for contact numbers; none at a crawl."""
    found = answer("round")
    lever = next(one for one in found.levers if one.key == "speed")
    assert lever.change == 250.0  # half of the middle one of 120, 500 and 1250
    assert lever.band is not None
    assert 1.0 < lever.band[0] < lever.factor < lever.band[1]
    # Rubbing goes with 1/v: at any contact number the gain is below a doubling of the margin.
    assert lever.band[1] < 2.0
    assert rubbing_of(BORE, found.chatter_hz) is not None
    assert rubbing_of(replace(BORE, speeds_rpm=(2.0,)), found.chatter_hz) is None
    assert rubbing_of(replace(BORE, work_diameter_mm=None), found.chatter_hz) is None
