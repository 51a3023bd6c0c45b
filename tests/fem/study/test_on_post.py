"""A tool on a post that gives: against beams on a sprung mass, closed forms, and the tool on rigid ground."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from answers import EXAMPLES
from scipy.linalg import eigh

from stickout.fem import read_setup
from stickout.fem.beam.sections import round_section
from stickout.fem.beam.spans import make_span
from stickout.fem.beam.stepped import PointSpring, sprung_chain
from stickout.fem.compare.reduced import reduced_model
from stickout.fem.cut.answer import cut_answer
from stickout.fem.setup.checks import setup_warnings
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.grips import BedGrip, RigidGrip
from stickout.fem.setup.parts import Absorber, Cut, Setup
from stickout.fem.setup.post import HABIT, cube_inertia, post_numbers
from stickout.fem.setup.work_parts import Post
from stickout.fem.setup.writing import setup_toml
from stickout.fem.study.levers import rerun
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study
from stickout.fem.sweep.batches import Case, batches_of, solve_batch
from stickout.fem.sweep.case_answer import answer_of
from stickout.meshes.parts import Bar
from stickout.meshes.tagged import FloatArray

STEEL = {"youngs_modulus": 210e9, "poisson_ratio": 0.3, "density": 7850.0}
BAR = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip())
BORING = Cut(
    operation="boring",
    work_material="medium carbon steel",
    depth_mm=0.2,
    feed_mm=0.05,
    nose_radius_mm=0.4,
    edge_angle_deg=95,
    work_diameter_mm=24,
    speeds_rpm=(315.0,),
)
BED = Setup(bar=Bar(overhang_mm=80, diameter_mm=16, gripped_mm=60), grip=BedGrip(), cut=BORING)
POST = Post((30.0, 20.0, 12.0), 2e4, 1.0)


@pytest.fixture(scope="module")
def held() -> Result:
    """Return the bar held on rigid ground."""
    return run_study(BAR)


def on(post: Post, setup: Setup = BAR) -> Result:
    """Return the study of a set-up on a post."""
    return run_study(replace(setup, post=post))


def beam_notes(*, spring: float, tilt: float, mass: float) -> FloatArray:
    """Return the three lowest bending notes of the bar as a beam on a sprung mass [Hz]."""
    span = make_span(0.08, round_section(0.016, poisson_ratio=0.3), **STEEL)
    chain = sprung_chain([span], [PointSpring(0.0, spring, tilt)])
    heavy = chain.mass.copy()
    heavy[0, 0] += mass
    heavy[1, 1] += cube_inertia(mass)
    square = eigh(chain.stiffness, heavy, eigvals_only=True, subset_by_index=(0, 2))
    return np.asarray(np.sqrt(square) / (2 * np.pi))


@pytest.mark.parametrize("axis", [1, 2])
def test_notes_of_a_bar_on_a_sprung_mass(axis: int) -> None:
    """A beam with the same mass and springs under its root has the same notes."""
    result = on(POST)
    mine = [at for at in range(result.n_modes) if abs(result.modes.edge[at, axis]) > 1e-3]
    ridden = beam_notes(spring=(20e6, 12e6)[axis - 1], tilt=2e4, mass=1.0)
    assert result.frequency_hz[mine[:2]] == pytest.approx(ridden[:2], rel=1e-3)
    assert result.frequency_hz[mine[2]] == pytest.approx(ridden[2], rel=8e-3)
    assert [result.kinds[at] for at in mine[:3]] == ["post", "post", "bending"]


def test_statics_are_springs_in_series(held: Result) -> None:
    """One over the spring and arm squared over the tilt come on top of the bar (closed form)."""
    more = on(POST).compliance - held.compliance
    across = [0.08**2 / 2e4 + 1 / k for k in (20e6, 12e6)]
    assert np.diag(more) == pytest.approx([1 / 30e6, *across], rel=1e-3)


def test_a_light_bar_leaves_the_post_its_own_note() -> None:
    """On a post of half a ton without tilting the note along the bar is ``sqrt(k / m)`` (closed form)."""
    result = on(Post((30.0, 30.0, 30.0), 1e9, 500.0))
    assert result.frequency_hz[0] == pytest.approx(math.sqrt(30e6 / 500.126) / (2 * math.pi), rel=1e-3)


def test_a_rigid_post_changes_nothing(held: Result) -> None:
    """Springs beyond all measure give the answer without a post, to the last digit."""
    rigid = on(Post((1e15,) * 3, 1e15, 3.0))
    assert rigid.frequency_hz.tolist() == held.frequency_hz.tolist()
    assert rigid.compliance.tolist() == held.compliance.tolist()
    stiff = on(Post((1e6,) * 3, 1e9, 3.0))
    assert stiff.frequency_hz[:6] == pytest.approx(held.frequency_hz[:6], rel=2e-3)


def test_energy_and_mass_of_the_ride() -> None:
    """Every mode's energy is half its squared frequency, and the modes carry all but all of the spring."""
    result = on(POST, BED)
    total = sum(result.modes.energy.values())
    assert total == pytest.approx(result.modes.omega**2 / 2, rel=1e-5)
    static = np.einsum("mi,mj,m->ij", result.modes.edge, result.modes.edge, result.modes.omega**-2.0)
    assert np.all(np.diag(static) <= np.diag(result.compliance) * (1 + 1e-6))
    assert static[2, 2] == pytest.approx(result.compliance[2, 2], rel=0.03)


def test_a_turned_section_rides_as_it_stands() -> None:
    """The springs stay with the lathe when the bar is turned on its side."""
    flat = Bar(overhang_mm=80, section="rectangle", width_mm=10, height_mm=20)
    upright = on(POST, replace(BAR, bar=flat))
    lying = on(POST, replace(BAR, bar=replace(flat, rotation_deg=90.0)))
    swapped = on(Post((30.0, 12.0, 20.0), 2e4, 1.0), replace(BAR, bar=flat))
    assert lying.frequency_hz == pytest.approx(swapped.frequency_hz, rel=1e-4)
    assert lying.frequency_hz[0] != pytest.approx(upright.frequency_hz[0], rel=1e-3)


def test_a_soft_post_limits_the_cut() -> None:
    """A post far softer than the bar takes the limit over and sings at its own note; a stiff one does not."""
    soft, stiff, bare = (
        cut_answer(run_study(replace(BED, post=post)))
        for post in (Post((4.0,) * 3, 1e4, 3.0), Post((1e5,) * 3, 1e9, 3.0), None)
    )
    assert soft.limiting is not None
    assert soft.result.kinds[soft.limiting] == "post"
    assert soft.margin < 0.5 * bare.margin
    assert soft.chatter_hz < 0.5 * bare.chatter_hz
    assert stiff.margin == pytest.approx(bare.margin, rel=5e-3)


def test_what_nobody_measured_widens_the_answer() -> None:
    """A post known by habit alone has bands in the list, and in the margin; a measured one has not."""
    known, habit = (
        run_study(replace(BED, post=post)) for post in (Post((25.0,) * 3, 3e4, 3.0, 0.06), Post())
    )
    listed = {one.name: one.band for one in habit.assumptions if "post" in one.name}
    assert len(listed) == 4
    assert all(HABIT in band.source for band in listed.values())
    assert not [one for one in known.assumptions if "post" in one.name]
    sure, wide = (cut_answer(one).spread.margin for one in (known, habit))
    assert wide.likely == pytest.approx(sure.likely, rel=1e-6)
    assert wide.high / wide.low > 1.1 * sure.high / sure.low
    assert setup_warnings(replace(BED, post=Post())) == ()


def test_partly_given_numbers_stand_beside_habit() -> None:
    """What was measured is taken as it is, the rest from habit."""
    numbers = post_numbers(Post(mass_kg=5.0))
    assert numbers.mass.low == numbers.mass.high == 5.0
    assert [name for name, _, _ in numbers.assumed] == [
        "post springs along the bar, sideways and up",
        "post spring against tilting",
        "post loss factor",
    ]


def test_a_lever_follows_its_own_mode() -> None:
    """Two post modes carry alike, and trade places when the bar is longer: the note told is the same mode's.

    From 30 to 40 mm out a mode of the post falls by a little; the other one lies seven per cent lower.
    """
    setup = read_setup(
        EXAMPLES / "measured_post.toml", changes=["post.tilt_nm_per_rad=13000", "solve.accuracy=0.05"]
    ).setup
    result = run_study(setup)
    slid = [replace(setup, bar=replace(setup.bar, overhang_mm=out)) for out in (20, 27, 33, 40)]
    ratios = [one.note for one in rerun(result, slid)]
    assert np.all(np.diff(ratios) < 0)  # a longer bar rings lower, and no step is a jump
    assert ratios[0] < 1.03
    assert ratios[-1] > 0.97


def test_a_sweep_and_a_comparison_count_the_post() -> None:
    """A case of a sweep is the study alone; a comparison has the same notes and spring."""
    few = [
        replace(BED, post=POST, bar=replace(BED.bar, overhang_mm=one))
        for one in (70.0, 72.0, 74.0, 76.0, 78.0)
    ]
    batches = list(batches_of([Case(at, one) for at, one in enumerate(few)]))
    assert len(batches) == len(few)
    alone = run_study(few[0])
    swept = next(iter(solve_batch(batches[0]))).answer
    assert swept is not None
    assert swept.frequency_hz.tolist() == answer_of(alone).frequency_hz.tolist()
    small = reduced_model(few[0])
    stiffness, mass = sum(small.stiffness.values()), sum(small.mass.values())
    notes = np.sqrt(eigh(stiffness, mass, eigvals_only=True)) / (2 * np.pi)
    assert notes[:8] == pytest.approx(alone.frequency_hz[:8], rel=5e-3)
    spring = small.edge.T @ np.linalg.solve(stiffness, small.edge)
    assert np.diag(spring) == pytest.approx(np.diag(alone.compliance), rel=5e-3)


def test_an_absorber_rides_along() -> None:
    """Its place at the free end gives as the edge there does, the post included."""
    hung = replace(BED, absorber=Absorber(20.0, 1200.0, 0.1, 80.0), post=POST)
    result = run_study(hung)
    assert result.place is not None
    assert np.diag(result.place.static)[1:] == pytest.approx(np.diag(result.compliance)[1:], rel=1e-3)
    assert np.diag(result.place.cross)[1:] == pytest.approx(np.diag(result.compliance)[1:], rel=1e-3)
    assert result.place.phi[:, 1:] == pytest.approx(result.modes.edge[:, 1:], rel=1e-3, abs=2e-2)


def test_a_written_set_up_keeps_its_post() -> None:
    """What a command writes reads back: given numbers, words on how, nothing that was assumed."""
    post = Post((30.0, 20.0, 12.5), mass_kg=2.5, measured="pull, dial on the bed")
    text = setup_toml(replace(BED, post=post), title="on a post")
    assert parse_setup(text).setup.post == post
    assert "tilt" not in text
