"""Like set-ups solved together, against the same set-ups solved one by one on meshes of their own.

The estimate of the error is tried where the truth is known: on the same mesh, stretched, solved whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import setups
from like_setups import answered, lengths, setup_of

from stickout.fem.setup.parts import Setup
from stickout.fem.solid.model import held_model
from stickout.fem.solid.modes import solve_modes, static_compliance
from stickout.fem.solid.setting import added_mass, elastic, region_materials, support_of
from stickout.fem.study.frames import own_frame, turn_about_bar
from stickout.fem.study.study import mesh_of, run_study
from stickout.fem.sweep.bases import MeshSpaces
from stickout.fem.sweep.batches import LEAST, Batch, Case, batches_of, solve_batch
from stickout.fem.sweep.case_answer import REDUCED, SOLVED, CaseAnswer, answer_of
from stickout.fem.sweep.family import family_answers
from stickout.fem.sweep.points import Points, likeness, point_of
from stickout.fem.sweep.terms import stretch_of
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray

RIGID = setups.ROUND.replace('"bed"', '"rigid"').replace("gripped = 60\n", "")
FLATTED = RIGID.replace('"round"', '"flatted"\nacross_flats = 13')
COARSE = Fineness(2, 1, 0.2, 0.8, 0.1)


def assert_alike(family: CaseAnswer, alone: CaseAnswer) -> None:
    """Two ways to the same numbers: apart by no more than both say they may be wrong."""
    n = len(alone.frequency_hz)
    apart = np.abs(family.frequency_hz / alone.frequency_hz - 1)
    assert np.all(apart <= family.frequency_error + alone.frequency_error)
    assert list(family.kinds) == list(alone.kinds)
    assert family.aligned == alone.aligned
    assert family.moves.tolist() == alone.moves.tolist()
    # The spring has no error of its own; its meshes converge as the notes' do, twice as far.
    allowed = 2 * float(max(one.frequency_error[:n].max() for one in (family, alone)))
    assert family.compliance == pytest.approx(
        alone.compliance, rel=allowed, abs=allowed * np.abs(alone.compliance).max()
    )
    assert family.loss.likely == pytest.approx(alone.loss.likely, rel=0.01, abs=1e-9)
    # Ratios over the bands: from unlike coarse meshes.
    for one, two in ((family.note, alone.note), (family.compliance_along, alone.compliance_along)):
        assert [one.low, one.high] == pytest.approx([two.low, two.high], rel=3e-3)


VARIED: dict[str, list[Setup]] = {
    "overhang, rigid": lengths(RIGID, 45, 70, 90, 110),
    "overhang, bed": lengths(setups.ROUND, 45, 60, 100),
    "overhang, step": lengths(RIGID + "[[bar.steps]]\nstart = 30\ndiameter = 12\n", 60, 80, 100),
    "overhang, loose wrap": lengths(setups.ROUND + setups.WRAP.replace("bonded", "loose"), 90, 100, 120),
    "slot and shim": lengths(
        setups.SLOT + setups.SHIM, 30, 40, changes=["solve.accuracy=0.01", "solve.modes=3"]
    ),
    # Higher losses, from coarse meshes alone, are off by per cents: shares are not stationary as notes are
    "sleeve": lengths(setups.SLEEVE, 70, 100, changes=["solve.accuracy=0.005", "solve.modes=3"]),
    "bed stiffness": [
        setup_of(setups.ROUND, f"grip.bed_n_per_um_mm2={k}", f"grip.bed_shear_ratio={r}")
        for k, r in ((0.3, 0.5), (2, 0.3), (20, 0.8))
    ],
    "edge": [
        setup_of(setups.ROUND, f"edge.mass_g={m}", f"edge.end_distance={d}")
        for m, d in ((0, 5), (20, 0), (5, 8))
    ],
    "edge beside the axis": [setup_of(FLATTED, f"edge.offset_y={y}", "edge.offset_z=3") for y in (0, 4)],
    "heavy edge beside the axis": [
        setup_of(RIGID, "edge.mass_g=10", "edge.offset_y=4", f"bar.overhang={x}", "solve.accuracy=0.01")
        for x in (60, 64)
    ],
    "turned": [setup_of(FLATTED, f"bar.rotation_deg={a}") for a in (0, 20, 90, 135)],
    "material": [
        setup_of(RIGID, *(f"materials.mine.{k}={v}" for k, v in rows.items()), "bar.material=mine")
        for rows in (
            {"youngs_modulus_gpa": e, "poisson_ratio": 0.3, "density_kg_m3": d, "loss_factor": 0.001}
            for e, d in ((100, 8000), (210, 7850), (600, 14000))
        )
    ],
}


@pytest.mark.slow
@pytest.mark.parametrize("name", VARIED)
def test_a_family_answers_as_each_alone(name: str) -> None:
    """Another route: every set-up on its own meshes, by the block iteration."""
    several = VARIED[name]
    assert len({likeness(own_frame(one)[0]) for one in several}) == 1
    for found, setup in zip(answered(family_answers(several)), several, strict=True):
        assert found.way == REDUCED
        assert_alike(found, answer_of(run_study(setup)))


def stretched(setup: Setup, longest: Setup) -> tuple[FloatArray, FloatArray]:
    """Return eigenvalues and compliance of a set-up, solved whole on the stretched mesh of the longest."""
    mesh = mesh_of(longest, COARSE)
    stretch = stretch_of(mesh)
    x = mesh.points[:, 0]
    s = float(stretch.of(Points.of([point_of(setup)]))[0])
    points = mesh.points.copy()
    points[:, 0] = np.where(x > stretch.start, stretch.start + s * (x - stretch.start), x)
    edge = mesh.edge + np.array([1e-3 * (setup.bar.overhang_mm - longest.bar.overhang_mm), 0, 0])
    mesh = replace(mesh, points=points, edge=edge)
    materials = {name: elastic(m) for name, m in region_materials(setup, mesh).items()}
    model = held_model(mesh, materials, support=support_of(setup), added=added_mass(setup, mesh))
    return solve_modes(model, setup.solve.modes).frequency_hz, static_compliance(model)


@pytest.mark.parametrize("tolerance", [3e-2, 1e-3, 1e-6])
@pytest.mark.parametrize("text", [RIGID, setups.ROUND, FLATTED], ids=["rigid", "bed", "flatted"])
def test_the_estimate_covers_what_the_space_misses(text: str, tolerance: float) -> None:
    """Rayleigh: a space reads high; by no more than its estimate, which is what it was asked for at most."""
    several = lengths(text, 45, 58, 80, 110, changes=["solve.modes=4"])
    points = Points.of([point_of(one) for one in several])
    spaces = MeshSpaces(several[-1], COARSE, points=points)
    spaces.grow(points, tolerance)
    told = spaces.told(points)
    assert told.error.max() <= tolerance
    for row, setup in enumerate(several):
        truth, compliance = stretched(setup, several[-1])
        missed = told.frequency_hz[row] / truth - 1
        # The whole solve has an error of its own, a tenth of its tolerance on the residual's square.
        assert np.all(missed >= -1e-8)
        assert np.all(missed <= told.error[row] + 1e-8)
        slack = np.trace(compliance - told.compliance[row]) / np.trace(compliance)
        assert -1e-9 <= slack <= told.compliance_error[row] + 1e-9


def test_a_rough_space_is_rough() -> None:
    """The test above would pass with nothing to see if every space were exact."""
    several = lengths(setups.ROUND, 40, 60, 90, 130)
    points = Points.of([point_of(one) for one in several])
    spaces = MeshSpaces(several[-1], COARSE, points=points)
    spaces.grow(points, 0.3)
    truth = stretched(several[0], several[-1])[0]
    assert np.max(spaces.told(points).frequency_hz[0] / truth - 1) > 1e-6


def test_turned_bars_are_seen_from_another_side() -> None:
    """Invariance: compliance and edge motion of a turned bar are those of the bar, turned."""
    straight, turned = (setup_of(FLATTED, f"bar.rotation_deg={a}") for a in (0, 30))
    one, two = (run_study(setup) for setup in (straight, turned))
    turn = turn_about_bar(np.pi / 6)
    assert two.frequency_hz == pytest.approx(one.frequency_hz, rel=1e-12)
    assert two.compliance == pytest.approx(turn @ one.compliance @ turn.T, rel=1e-9, abs=1e-18)
    # The turned model is the model of the turned mesh: its matrices make of its shapes their eigenvalues.
    columns = two.model.layout.gather(two.modes.shapes.transpose(1, 2, 0))
    pushed, moved = two.model.apply_stiffness(columns), two.model.apply_mass(columns)
    values = (2 * np.pi * two.modes.frequency_hz) ** 2
    size = np.abs(pushed).max(axis=0)
    # The residual of the third is 1e-8 of its force; higher ones are not converged so far.
    assert np.all(np.abs(pushed - moved * values).max(axis=0)[:3] < 1e-6 * size[:3])
    assert np.einsum("un,un->n", columns, moved) == pytest.approx(1, rel=1e-9)


def cases(several: Sequence[Setup]) -> list[Case]:
    """Return set-ups as the cases of a plan."""
    return [Case(number, setup) for number, setup in enumerate(several)]


def numbers(batches: Sequence[Batch]) -> list[list[int]]:
    """Return the numbers of the cases of batches."""
    return [[case.number for case in batch.cases] for batch in batches]


def test_batches_of_a_plan() -> None:
    """Like cases are together, as long as one mesh serves them; the rest, and faulty ones, stand alone."""
    long, short = lengths(RIGID, 100, 99, 98, 97), lengths(RIGID, 15, 16, 17, 18)
    other = [setup_of(RIGID, "bar.diameter=12")]
    faulty = [replace(long[0], bar=replace(long[0].bar, overhang_mm=-3.0))]
    found = batches_of(cases([*long, *other, *short, *faulty]))
    assert numbers(found) == [[0, 1, 2, 3], [5, 6, 7, 8], [4], [9]]
    assert [batch.alike for batch in found] == [True, True, False, False]
    assert numbers(batches_of(cases(long[: LEAST - 1]))) == [[0], [1], [2]]


def test_what_is_no_mechanics_does_not_part_cases() -> None:
    """Cut, losses, words and a round bar's rotation leave the mesh as it is; a bore or a screw does not."""
    base = setup_of(setups.ROUND + setups.CUT)
    for change in ("cut.depth=0.1", "bar.rotation_deg=30", "grip.bed_loss_factor=0.1", 'title="x"'):
        assert likeness(own_frame(setup_of(setups.ROUND + setups.CUT, change))[0]) == likeness(base)
    for change in ("bar.gripped=50", "bar.diameter=15", "solve.modes=8"):
        assert likeness(setup_of(setups.ROUND + setups.CUT, change)) != likeness(base)


def told(outcomes: Any) -> dict[int, str]:
    """Return outcomes as texts by number: every digit counts."""
    return {one.number: repr(one.answer) + str(one.reason) for one in outcomes}


def test_what_is_done_is_not_done_again_and_changes_nothing() -> None:
    """A resumed batch gives the rest of what an uninterrupted one gives, to the last digit."""
    [batch] = batches_of(cases(lengths(RIGID, 50, 60, 70, 80, changes=["solve.accuracy=0.01"])))
    whole = told(solve_batch(batch))
    rest = told(solve_batch(batch, done={0, 2}))
    assert rest == {number: whole[number] for number in (1, 3)}
    assert told(solve_batch(batch, done={0, 1, 2, 3})) == {}


def test_a_case_at_fault_is_told_and_the_others_go_on() -> None:
    """The reason is the message of the check."""
    good = lengths(RIGID, 50, 60, 70, 80, changes=["solve.accuracy=0.01"])
    bad = replace(good[0], bar=replace(good[0].bar, diameter_mm=-1.0))
    found = {o.number: o for batch in batches_of(cases([bad, *good])) for o in solve_batch(batch)}
    assert found[0].answer is None
    assert "diameter" in str(found[0].reason)
    assert all(found[n].answer is not None for n in range(1, 5))


def test_a_cut_in_a_family_is_the_cut_alone() -> None:
    """Another route: each alone. The band's ends come from unlike coarse meshes."""
    several = lengths(setups.ROUND + setups.CUT, 40, 60, changes=["solve.accuracy=0.01"])
    for found, setup in zip(answered(family_answers(several)), several, strict=True):
        alone = answer_of(run_study(setup))
        assert found.cut is not None
        assert alone.cut is not None
        assert found.cut.margin == pytest.approx(alone.cut.margin, rel=3e-3)
        assert found.cut.chatter_hz == pytest.approx(alone.cut.chatter_hz, rel=1e-3)
        assert found.cut.limiting == alone.cut.limiting
        assert alone.way == SOLVED
