"""The absorber on a bar: exact share in the receptance, its place on the FE shape, what cut makes of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from cutting_cases import BED, FLATTED, ROUND
from numpy.typing import NDArray
from values import check_value

from stickout.fem.chatter.changed import turned
from stickout.fem.chatter.receptance import receptance
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.compare.compare import compare
from stickout.fem.cut.absorber import best_tuning, off_tune
from stickout.fem.cut.absorber_notes import absorber_notes
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.models import coarse_model
from stickout.fem.errors import InputError
from stickout.fem.records.result import result_record
from stickout.fem.setup.grips import RigidGrip
from stickout.fem.setup.parts import Absorber, Setup, Solve
from stickout.fem.solid.section_motion import place_at, section_face
from stickout.fem.study.directions import edge_moves
from stickout.fem.study.study import levels_of, run_study, solve_level
from stickout.fem.sweep.batches import Case, batches_of
from stickout.fem.sweep.case_answer import answer_of
from stickout.meshes.parts import Bar, Edge
from stickout.meshes.pieces import Fineness

FloatArray = NDArray[np.float64]
SLUG = Absorber(mass_g=20.0, frequency_hz=1500.0, damping_ratio=0.2, position_mm=70.0)


def test_a_stiff_spring_is_an_added_mass() -> None:
    """Limit: on a very stiff spring at the end the slug is a point mass there: FE of a heavier edge."""
    bar = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip())
    slug = Absorber(mass_g=15.0, frequency_hz=50_000.0, damping_ratio=0.001, position_mm=80.0)
    carried = replace(bar, edge=Edge(mass_g=15.0))
    hung = coarse_model(replace(bar, absorber=slug))
    # Loss in proportion to stiffness, which the added mass leaves alone.
    hung = replace(hung, eta=np.full(hung.omega.size, 0.02), viscous=False)
    hung = off_tune(hung, tuning=np.asarray(100.0))
    own = coarse_model(carried)
    own = replace(own, eta=np.full(own.omega.size, 0.02), viscous=False)
    first = float(own.omega[0])
    w = first * np.array([0.3, 0.8, 0.97, 1.03, 1.3])
    for axis in (1, 2):
        # The same space; a handful of modes with the residual: 1e-3.
        assert receptance(hung, w)[axis, axis] == pytest.approx(receptance(own, w)[axis, axis], rel=2e-3)
    assert first < 0.9 * float(hung.omega[0])


@pytest.mark.parametrize("x_mm", [0.1, 33.0, 61.7, 80.0])
def test_motion_of_a_section(x_mm: float) -> None:
    """Principles: rigid motions come back exactly; at the end face the edge's own; Maxwell's reciprocity."""
    setup = replace(FLATTED, edge=Edge(), solve=replace(FLATTED.solve, modes=2))
    level = solve_level(setup, Fineness(2, 1, 0.3, 1.0, 0.15))
    points, model = level.model.mesh.points, level.model
    face = section_face(model.mesh, 1e-3 * x_mm)
    spin = np.array([0.1, -0.2, 0.3])
    moved = face.motion(np.stack([np.ones_like(points), np.cross(spin, points)], axis=2))
    assert moved[:, 0] == pytest.approx(np.ones(3), rel=1e-12)
    assert moved[:, 1] == pytest.approx(np.cross(spin, [1e-3 * x_mm, 0.0, 0.0]), abs=1e-15)
    place = place_at(model, level.modes, x=1e-3 * x_mm)
    loads = model.layout.gather(face.spread(len(points)))
    solved = model.factor.solve(model.edge_loads)
    assert place.cross == pytest.approx((loads.T @ solved).T, rel=1e-8, abs=1e-14)
    if x_mm == 80.0:
        # The edge rides on the mean rotation too, but lies at the middle of the face.
        assert place.static == pytest.approx(level.compliance, rel=1e-9, abs=1e-16)
        assert place.phi == pytest.approx(level.modes.edge, rel=1e-9, abs=1e-9)
    with pytest.raises(InputError, match="holder face"):
        section_face(model.mesh, 0.0801)


def test_effective_mass_ratio_from_the_fe_shape() -> None:
    """Closed form (f.phi, f.mu): cantilever shape, m phi^2 over a quarter of the bar; slender, for shear."""
    setup = Setup(bar=Bar(overhang_mm=480, diameter_mm=16), grip=RigidGrip())
    level = solve_level(setup, levels_of(setup).fineness[0])
    assert np.flatnonzero(edge_moves(level.modes))[0] == 0
    tip = level.modes.edge[0]
    for xi in (0.6, 0.7, 0.8, 0.9):
        phi = place_at(level.model, level.modes, x=xi * 0.48).phi[0]
        ratio = float(np.linalg.norm(phi) / np.linalg.norm(tip))
        if xi != 0.9:
            # Thirty diameters long: shear and the held face are below 0.2 %.
            assert ratio == pytest.approx(check_value(f"f.phi.xi{xi:g}").value, rel=2e-3)
        if xi in (0.6, 0.9):
            given = check_value(f"f.mu.xi{xi:g}")
            mass = given.inputs["m_bar_g"] * 1e-3 * 480 / 80
            mu = given.inputs["m_g"] * 1e-3 * float(phi @ phi) * 480 / 80
            assert mu == pytest.approx(given.value, rel=5e-3)
            assert 1.0 / float(tip @ tip) == pytest.approx(mass / 4.0, rel=2e-3)


@cache
def answered(direction: str) -> CutAnswer:
    """Return the cut of the round bar with a slug that moves so."""
    setup = replace(ROUND, absorber=replace(SLUG, direction=direction))
    return cut_answer(run_study(setup))


def test_a_round_slug_in_a_round_bar_prefers_no_way() -> None:
    """Invariance: turning bar and slug changes nothing; a slug that moves one way only makes it unlike."""
    assert answered("both").turned.alike
    one_way = answered("up")
    assert not one_way.turned.alike
    # Turned by a right angle the slug that moves up moves sideways, on a bar alike all round.
    sideways = answered("sideways")
    at = one_way.verdict.speeds.index(one_way.verdict.stated)
    there = sideways.verdict.speeds[at].margin.likely
    assert one_way.turned.at(90.0) == pytest.approx(there, rel=1e-3)
    both = turned(answered("both").tool, np.array([0.0, 37.0]))
    margins = absolute_limit(both, answered("both").case.stiffness).margin
    assert margins[1] == pytest.approx(margins[0], rel=1e-3)  # the pair's difference on this mesh


def test_the_whole_answer_counts_the_absorber() -> None:
    """Principle: limit, speeds, bands and levers all come from the model with it; without is without."""
    found = answered("both")
    assert found.bare_margin is not None
    plain = cut_answer(run_study(ROUND))
    assert plain.bare_margin is None
    # Cells end where the absorber is; those of the plain bar do not.
    assert found.bare_margin == pytest.approx(plain.margin, rel=1e-5)
    assert found.margin > 3.0 * plain.margin
    assert all(one.margin >= 0.999 * found.margin for one in found.speeds)
    assert found.spread.margin.low > plain.spread.margin.high
    assert {"absorber tuning", "absorber damping"} <= set(found.spread.bands)
    # The lever of the tuning is the best of the search, and a rerun with it agrees.
    best = best_tuning(found.both, found.case.stiffness)
    assert best is not None
    slug = replace(SLUG, frequency_hz=best.factor * SLUG.frequency_hz)
    again = cut_answer(run_study(replace(ROUND, absorber=slug)))
    assert float(again.limit.margin) == pytest.approx(best.margin, rel=1e-6)
    assert again.limit.margin >= found.limit.margin


def test_a_case_of_a_sweep_counts_the_absorber() -> None:
    """Principle: each such case is solved alone, and its margin and band are those of the whole answer."""
    setup = replace(ROUND, absorber=SLUG)
    cases = [Case(n, replace(setup, title=str(n))) for n in range(5)]
    assert [len(one.cases) for one in batches_of(cases)] == [1] * 5
    case = answer_of(run_study(setup)).cut
    whole = answered("both")
    assert case is not None
    assert case.margin[1] == pytest.approx(whole.margin, rel=1e-6)
    worst = whole.verdict.speeds[whole.verdict.worst]
    assert case.margin[0] == pytest.approx(worst.margin.low, rel=1e-6)
    assert (case.p_quiet, case.verdict) == (pytest.approx(worst.p_quiet, rel=1e-6), worst.verdict)


def test_the_two_notes_of_a_bar_with_its_absorber() -> None:
    """Another route: eigenvalues of the mode and the mass written out, lightly damped; told in the record."""
    light = replace(SLUG, damping_ratio=0.01)
    result = run_study(replace(ROUND, absorber=light))
    found = absorber_notes(result)
    assert found is not None
    assert result.place is not None
    phi, omega = result.place.phi[0], float(result.omega[0])
    mass, own = 0.02, 2.0 * np.pi * 1500.0
    M = np.diag([1.0 / float(phi @ phi), mass])
    K = np.array([[M[0, 0] * omega**2 + mass * own**2, -mass * own**2], [-mass * own**2, mass * own**2]])
    notes = np.sqrt(np.sort(np.linalg.eigvals(np.linalg.solve(M, K)).real)) / (2.0 * np.pi)
    # Damping of one and two per cent moves a note by its square.
    assert [note for note, _ in found.modes] == pytest.approx(notes, rel=1e-3)
    record = result_record(result, tool="t", version="v")
    assert record["absorber"]["mass_ratio"] == pytest.approx(mass / M[0, 0], rel=1e-9)
    assert result_record(run_study(ROUND), tool="t", version="v")["absorber"] is None


def test_a_comparison_counts_the_absorber_on_a_clamped_bar() -> None:
    """Another route: the ratio of margins that ``cut`` gives; the loss of a seat is counted by both."""
    before = replace(BED, bar=replace(BED.bar, overhang_mm=100), solve=Solve(modes=4))
    after = replace(before, absorber=replace(SLUG, frequency_hz=850.0, position_mm=90.0))
    table = compare([before, after], names=["without", "with"])
    margins = [cut_answer(run_study(one)).margin for one in (before, after)]
    ratio = table.changes[0].ratios["cut_margin"].likely
    assert ratio == pytest.approx(margins[1] / margins[0], rel=1e-9)
    assert table.changes[0].ratios["spring_m_per_n"].likely == pytest.approx(1.0, rel=1e-6)
