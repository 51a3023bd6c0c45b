"""What the cut of a result hangs on: levers against whole reruns, bands, losses, spring-off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cutting_cases import BED, BORE, FLATTED, ROUND, SQUARE, answer, result

import stickout.fem.chatter.stability
import stickout.fem.cut.models
import stickout.fem.study.coarse
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.models import coarse_model, softened
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.cut.spread import with_grip
from stickout.fem.cut.turned import turned_bar
from stickout.fem.errors import InputError
from stickout.fem.force.case import case_of, cut_case, rotation_between
from stickout.fem.setup.bands import exactly
from stickout.fem.setup.changes import shortened, with_overhang
from stickout.fem.setup.grips import BedGrip
from stickout.fem.setup.joints import Joint
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.fem.study.of_revolution import SPACES
from stickout.fem.study.study import run_study
from stickout.meshes.parts import Step
from stickout.meshes.pieces import Fineness


def at_stated(found: CutAnswer, other: CutAnswer) -> SpeedVerdict:
    """Return what another answer says at the speed that the changes of the first are told at."""
    return other.verdict.speeds[found.verdict.speeds.index(found.verdict.stated)]


@pytest.mark.parametrize("key", ["nose_radius", "feed", "depth"])
def test_levers_of_the_cut_against_a_rerun(key: str) -> None:
    """Margin and chance are those of another whole answer at the same speed."""
    found = answer("flatted")
    lever = next(one for one in found.levers if one.key == key)
    other = cut_answer(
        replace(found.result, setup=replace(FLATTED, cut=replace(BORE, **{f"{key}_mm": lever.change})))
    )
    there = at_stated(found, other)
    # The high modes are left to the residual: 1e-3 of a margin.
    assert lever.after.margin == pytest.approx(there.margin.likely, rel=1e-3)
    assert lever.after.p_quiet == pytest.approx(there.p_quiet, abs=0.01)
    assert (lever.before.margin, lever.before.p_quiet) == pytest.approx(
        (found.verdict.stated.margin.likely, found.verdict.stated.p_quiet), rel=1e-12
    )


@pytest.mark.slow
@pytest.mark.parametrize("name", ["flatted", "bed"])
def test_the_overhang_levers_against_a_rerun(name: str) -> None:
    """A tenth less and the next whole diameter: coarse meshes against converged studies, within 1 %."""
    found = answer(name)
    setup = found.result.setup
    found_at = {round(float(one.change), 6): one for one in found.levers if one.key == "overhang"}
    for overhang in (72.0, 64.0):
        shorter = with_overhang(setup, overhang)
        assert shorter is not None
        there = at_stated(found, cut_answer(run_study(shorter)))
        lever = found_at[overhang]
        assert lever.after.margin == pytest.approx(there.margin.likely, rel=0.01)
        # The grip of the shorter bar is taken as unsure as this one's.
        assert lever.after.p_quiet == pytest.approx(there.p_quiet, abs=0.02)


def test_an_overhang_that_would_do_is_rerun_too() -> None:
    """Where no speed is quiet, the whole diameter that should be is among the changes, and it is."""
    found = cut_answer(
        run_study(replace(BED, bar=replace(BED.bar, overhang_mm=112), cut=replace(BORE, speeds_rpm=(630.0,))))
    )
    tried = [float(one.change) for one in found.levers if one.key == "overhang"]
    assert tried[:2] == pytest.approx([100.8, 96.0])
    assert len(tried) == 3
    assert tried[2] % 16 == 0
    last = [one for one in found.levers if one.key == "overhang"][-1]
    assert last.quiet
    assert last.factor > 2
    assert len([one for one in answer("bed").levers if one.key == "overhang"]) == 2  # 120 rpm is quiet there


def test_the_rotation_lever_against_a_rerun() -> None:
    """Turning the model is turning the section: flats turned in the set-up give the margin of the plot."""
    found = answer("flatted")
    # The edge sits on the axis here: an offset edge keeps its place while the section turns.
    setup = replace(FLATTED, edge=replace(FLATTED.edge, offset_y_mm=0.0))
    now = cut_answer(run_study(setup))
    speed = now.verdict.stated.cutting_speed
    plot = turned_bar(now.case, now.tool, work=None, rotation_deg=30.0, speed=speed)
    for rotation in (0.0, 60.0, 120.0):
        other = cut_answer(run_study(replace(setup, bar=replace(setup.bar, rotation_deg=rotation))))
        # Two meshes of unlike sections, each good to 0.1 % in frequency.
        assert plot.at(rotation) == pytest.approx(at_stated(now, other).margin.likely, rel=0.01), rotation
    assert plot.at(30.0) == pytest.approx(now.verdict.stated.margin.likely, rel=1e-9)
    lever = next(one for one in found.levers if one.key == "rotation")
    assert lever.after.margin == pytest.approx(found.turned.at(float(lever.change)), rel=1e-3)
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
    """Own record: the mesh for levers gives ratios within 0.3 % of one with half its cells' length.

    So does the first space of a round bar, beside the third.
    """
    finer = {"COARSE": Fineness(3, 1, 0.15, 0.5, 0.07), "SPACES": SPACES[2:]}
    for setup in (BED, FLATTED):
        case, other = cut_case(setup), shortened(setup)
        assert other is not None
        ratios = []
        for changed in ({}, finer):
            with pytest.MonkeyPatch.context() as patch:
                for name, value in changed.items():
                    patch.setattr(stickout.fem.study.coarse, name, value)
                limits = [
                    float(absolute_limit(coarse_model(one), case.stiffness).margin) for one in (setup, other)
                ]
            ratios.append(limits[1] / limits[0])
        assert ratios[0] == pytest.approx(ratios[1], rel=3e-3)
        assert ratios[0] != ratios[1]


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
    """Cost as a count: seven coarse solves, and batches whose number does not grow with samples."""
    solves, batches = [], []
    solve, valleys = stickout.fem.cut.models.coarse_level, stickout.fem.chatter.stability.valleys
    monkeypatch.setattr(
        stickout.fem.cut.models, "coarse_level", lambda *a, **k: (solves.append(a), solve(*a, **k))[1]
    )
    monkeypatch.setattr(
        stickout.fem.chatter.stability, "valleys", lambda *a, **k: (batches.append(a), valleys(*a, **k))[1]
    )
    cut_answer(result("bed"))
    # Base, 10 % shorter, a whole diameter shorter, grip at both ends, carbide, and shorter again for a pair.
    assert len(solves) == 7
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
    assert found.spring_off.radial == pytest.approx(-push[1])
    assert found.spring_off.edge == pytest.approx(push)
    left = found.spring_off.left
    assert np.all(np.diff(left) < 0)
    # At the first pass true depth and push add up to the setting (own balance).
    assert left[0] == pytest.approx(found.spring_off.radial, rel=0.05)  # the push of a little less depth
    bore = found.spring_off.bore
    assert bore is not None
    assert bore.drop == pytest.approx(-push[2])
    assert bore.clearance_lost == pytest.approx(bore.drop / 0.012, rel=1e-3)  # small angle
    assert answer("square").spring_off.bore is None


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


def test_the_speed_lever_is_a_rerun() -> None:
    """Half the speed is another whole answer at half the speed."""
    found = answer("round")
    lever = next(one for one in found.levers if one.key == "speed")
    stated = found.verdict.stated
    assert stated.speed_rpm is not None
    assert lever.cost == pytest.approx(stated.speed_rpm / float(lever.change))
    slow = replace(found.result, setup=replace(ROUND, cut=replace(BORE, speeds_rpm=(float(lever.change),))))
    there = cut_answer(slow).verdict.speeds[0]
    assert lever.after.margin == pytest.approx(there.margin.likely, rel=1e-9)
    assert lever.after.p_quiet == pytest.approx(there.p_quiet, abs=0.01)
    unknown = replace(found.result, setup=replace(ROUND, cut=replace(BORE, work_diameter_mm=None)))
    assert "cutting_speed" in [one.key for one in cut_answer(unknown).levers]
