"""The absorber on a bar: exact share in the receptance, its place on the FE shape, what the cut makes of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from cut_cases import N_PER_UM, Y_AXIS, Z_AXIS, nose_case, one_mode, sampled_models
from cutting_cases import FLATTED, ROUND
from delayed_matrices import rightmost_growth
from numpy.typing import NDArray
from values import check_value

from fem.cut.attached import mode_parts, pull, resonances
from fem.cut.changed import picked, rescaled
from fem.cut.directions import turned
from fem.cut.lobes import boundary
from fem.cut.modal import Attached, ModalModel, modal_static, modes_only
from fem.cut.receptance import receptance, relative_model
from fem.cut.speeds import limits_at_speeds
from fem.cut.stability import absolute_limit, limiting_mode, oriented_limit
from fem.cutting import CutAnswer, cut_answer
from fem.cutting_absorber import best_tuning, off_tune, squeal_limit
from fem.cutting_model import coarse_model
from fem.design.absorber import Pair, Tuning, scaled_receptance, worst_negative_real
from fem.directions import edge_moves
from fem.errors import InputError
from fem.place import place_at, section_face
from fem.setup import Absorber, RigidGrip, Setup
from fem.study import levels_of, run_study, solve_level
from meshes.parts import Bar, Edge
from meshes.pieces import Fineness

FloatArray = NDArray[np.float64]
SLUG = Absorber(mass_g=20.0, frequency_hz=1500.0, damping_ratio=0.2, position_mm=70.0)


def hang(model: ModalModel, place: FloatArray, *, mass: float, hertz: float, zeta: float) -> ModalModel:
    """Return a model with an absorber on a place of motion (n, d), the modes carrying all its compliance."""
    scaled = place / model.omega[:, None] ** 2
    hung = Attached(
        phi=place,
        cross=model.phi.T @ scaled,
        static=place.T @ scaled,
        mass=np.asarray(mass),
        omega=np.asarray(2.0 * np.pi * hertz),
        zeta=np.asarray(zeta),
    )
    return replace(model, attached=hung)


def some_modes(seed: int = 5) -> tuple[ModalModel, FloatArray]:
    """Return five unlike modes and the motion of a place across the bar, (5, 2)."""
    rng = np.random.default_rng(seed)
    omega = 2.0 * np.pi * np.array([900.0, 950.0, 2500.0, 5200.0, 9000.0])
    phi = 4.0 * rng.normal(size=(5, 3))
    model = modes_only(omega, phi, eta=np.array([0.02, 0.05, 0.01, 0.03, 0.02]), viscous=True)
    return model, 3.0 * rng.normal(size=(5, 2))


def written_out(model: ModalModel) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return mass, damping and stiffness of modes and absorber, viscous, unknowns (q, v)."""
    hung = model.attached
    assert hung is not None
    n, d = hung.phi.shape
    mass, spring = float(hung.mass), float(hung.mass * hung.omega**2)
    dashpot = float(2.0 * hung.mass * hung.omega * hung.zeta)
    apart = np.hstack([hung.phi.T, -np.eye(d)])  # place less absorber
    M = np.diag(np.concatenate([np.ones(n), np.full(d, mass)]))
    C = np.diag(np.concatenate([model.eta * model.omega, np.zeros(d)])) + dashpot * apart.T @ apart
    K = np.diag(np.concatenate([model.omega**2, np.zeros(d)])) + spring * apart.T @ apart
    return M, C, K


@pytest.mark.parametrize("directions", [1, 2])
def test_update_against_a_direct_solve_with_the_extra_unknown(directions: int) -> None:
    """Principle: the exact update gives the receptance of the matrices written out, the residual included."""
    model, place = some_modes()
    full = hang(model, place[:, :directions], mass=0.05, hertz=980.0, zeta=0.15)
    M, C, K = written_out(full)
    w = 2.0 * np.pi * np.array([50.0, 700.0, 905.0, 1000.0, 1400.0, 2490.0, 6000.0])
    show = np.vstack([model.phi, np.zeros((directions, 3))])
    direct = np.stack([show.T @ np.linalg.solve(K - x**2 * M + 1j * x * C, show) for x in w], axis=-1)
    assert receptance(full, w) == pytest.approx(direct, rel=1e-9, abs=1e-18)  # rounding
    # Modes far above act as springs: left to the residual they give the same, to the square of 1e-4.
    stiff = replace(model, omega=np.where(np.arange(5) < 3, model.omega, 1e8))
    stiff = replace(stiff, static=modal_static(stiff.omega, stiff.phi) + 0.0)
    loose = hang(stiff, place[:, :directions], mass=0.05, hertz=980.0, zeta=0.15)
    few = picked(loose, np.arange(5) < 3)
    assert few.omega.size == 3
    assert receptance(few, w) == pytest.approx(receptance(loose, w), rel=1e-6, abs=1e-18)


def test_one_mode_with_an_absorber_is_the_text_book_one() -> None:
    """Published (Den Hartog): G k of two masses, the depth limit from its least real part; viscous bar."""
    bar = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.02)
    model = hang(bar, bar.phi[:, 1:2], mass=0.1 / bar.phi[0, 1] ** 2, hertz=1030.0, zeta=0.18)
    pair = Pair(0.1, Tuning(1.03, 0.18), 0.02)
    ratio = np.linspace(0.3, 2.0, 50)
    got = receptance(model, 2.0 * np.pi * 1000.0 * ratio)[1, 1] * 4.0 * N_PER_UM
    assert got == pytest.approx(scaled_receptance(pair, ratio), rel=1e-10)  # rounding
    limit = oriented_limit(model, normal=Y_AXIS, force_axis=Y_AXIS, coefficient=1.5e9)
    wide = 4.0 * N_PER_UM / (2.0 * 1.5e9 * worst_negative_real(pair))
    assert float(limit.margin) == pytest.approx(wide, rel=1e-8)  # reach of the search


def test_no_mass_and_no_spring_leave_the_bare_receptance() -> None:
    """Limits: mass to zero, and spring to zero without damping; all in a batch."""
    model, place = some_modes()
    w = np.linspace(2000.0, 60_000.0, 40)
    bare = receptance(model, w)
    assert receptance(hang(model, place, mass=0.0, hertz=900.0, zeta=0.1), w) == pytest.approx(
        bare, rel=1e-12
    )
    loose = hang(model, place, mass=0.05, hertz=1e-4, zeta=1e-6)
    # What is left falls with the square of 1e-4 over the lowest frequency.
    assert receptance(loose, w) == pytest.approx(bare, rel=1e-9)
    assert resonances(model)[0] is model.omega
    assert limiting_mode(loose, absolute_limit(model, nose_case()), matrix=nose_case()) == limiting_mode(
        model, absolute_limit(model, nose_case()), matrix=nose_case()
    )


def test_a_stiff_spring_is_an_added_mass() -> None:
    """Limit: on a very stiff spring at the end the slug is a point mass there: FE of a heavier edge."""
    bar = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip())
    slug = Absorber(mass_g=15.0, frequency_hz=50_000.0, damping_ratio=0.001, position_mm=80.0)
    fine = Fineness(2, 1, 0.2, 1.0, 0.1)
    carried = replace(bar, edge=Edge(mass_g=15.0), solve=replace(bar.solve, modes=4))
    level = solve_level(carried, fine)
    heavy = ModalModel(
        omega=level.modes.omega, phi=level.modes.edge, eta=np.full(6, 0.02), static=level.compliance
    )
    hung = coarse_model(replace(bar, absorber=slug))
    hung = replace(hung, eta=np.full(hung.omega.size, 0.02))
    assert hung.attached is not None
    hung = off_tune(hung, tuning=np.asarray(100.0))
    del level
    own = coarse_model(carried)
    own = replace(own, eta=np.full(own.omega.size, 0.02))
    first = float(own.omega[0])
    w = first * np.array([0.3, 0.8, 0.97, 1.03, 1.3])
    for axis in (1, 2):
        # The same mesh; a handful of modes with the residual: 1e-3.
        assert receptance(hung, w)[axis, axis] == pytest.approx(receptance(own, w)[axis, axis], rel=2e-3)
    assert float(heavy.omega[0]) == pytest.approx(first, rel=0.02)


def test_pull_at_its_ends() -> None:
    """Closed forms: far below its note the absorber is a mass, far above a spring and a dashpot, c/k 2z/w."""
    model, place = some_modes()
    hung = hang(model, place, mass=0.1, hertz=1000.0, zeta=0.2).attached
    assert hung is not None
    own = 2000.0 * np.pi
    assert pull(hung, np.array([own * 1e-3]))[0] == pytest.approx(0.1 * (own * 1e-3) ** 2, rel=1e-5)
    high = own * 1e4
    spring = -0.1 * own**2 * (1.0 + 0.4j * high / own)
    assert pull(hung, np.array([high]))[0] == pytest.approx(spring, rel=1e-3)


def test_stability_limit_against_the_roots_of_the_delayed_equation() -> None:
    """Independent route: on the worst lobe the rightmost root crosses zero at the margin, at its frequency.

    Bar, absorber and cut as matrices with a delay; no receptance, no eigenvalue of G A.
    """
    model, place = some_modes()
    model = hang(picked(model, np.arange(5) < 2), place[:2], mass=0.004, hertz=940.0, zeta=0.12)
    matrix = nose_case()
    limit = absolute_limit(model, matrix)
    bare = absolute_limit(replace(model, attached=None), matrix)
    assert float(limit.margin) > 1.5 * float(bare.margin)
    omega = np.array([float(limit.omega)])
    edge = boundary(model, matrix, w=omega)
    lowest = int(np.argmin(edge.margin[:, 0]))
    delay = float((edge.phase[lowest, 0] + 2.0 * np.pi * 3) / omega[0])
    show = np.vstack([model.phi, np.zeros((2, 3))])
    fed = show @ matrix @ show.T * float(limit.margin)
    at, below, above = (
        rightmost_growth(written_out(model), share * fed, delay=delay) for share in (1.0, 0.98, 1.02)
    )
    assert at.real == pytest.approx(0.0, abs=1e-3 * float(omega[0]) * 1e-2)
    assert abs(at.imag) == pytest.approx(float(omega[0]), rel=1e-5)
    assert below.real < 0.0 < above.real
    # At any other speed the margin is no smaller: quiet at 0.98 of it.
    for other in (0.8, 1.1, 1.7, 2.9):
        assert rightmost_growth(written_out(model), 0.98 * fed, delay=other * delay).real < 0.0
    # And the limit at one speed of the user's: the root crosses there.
    rpm = 60.0 / (1.37 * delay)
    own = float(limits_at_speeds(model, matrix, speeds_rpm=[rpm]).margin[0])
    grown = rightmost_growth(written_out(model), fed * own / float(limit.margin), delay=1.37 * delay)
    assert grown.real == pytest.approx(0.0, abs=0.05)


def test_parts_of_the_modes_add_up_to_the_trace() -> None:
    """Principle: without a residual the parts are all of Re tr(G A); with work beside it too."""
    model, place = some_modes()
    tool = hang(model, place, mass=0.03, hertz=900.0, zeta=0.2)
    work = one_mode(3.0 * N_PER_UM, 700.0, zeta=0.02, axis=Z_AXIS)
    both = relative_model(tool, work)
    matrix, w = nose_case(), np.asarray(2.0 * np.pi * 930.0)
    for one in (tool, both):
        whole = np.trace(receptance(one, w[None])[..., 0] @ matrix).real
        assert mode_parts(one, matrix, omega=w).sum() == pytest.approx(whole, rel=1e-9)
    # The work moves apart from the absorber: the receptances add.
    alone = receptance(tool, w[None]) + receptance(work, w[None])
    assert receptance(both, w[None]) == pytest.approx(alone, rel=1e-10)


def test_a_batch_is_the_same_as_one_by_one() -> None:
    """Principle: sampled models with one absorber each, limits as alone; a bar rescaled with its slug left."""
    models = sampled_models(4)
    rng = np.random.default_rng(2)
    place = rng.normal(size=(4, 6, 2)) * 3.0
    scaled = np.swapaxes(place / models.omega[..., None] ** 2, -1, -2)
    hung = Attached(
        phi=place,
        cross=np.swapaxes(scaled @ models.phi, -1, -2),
        static=scaled @ place,
        mass=rng.uniform(0.005, 0.05, 4),
        omega=2.0 * np.pi * rng.uniform(800.0, 1300.0, 4),
        zeta=rng.uniform(0.02, 0.3, 4),
    )
    batch, matrix = rescaled(replace(models, attached=hung), note=0.9, stiffness=0.8), nose_case()
    together = absolute_limit(batch, matrix).margin
    for i in range(4):
        h, b = batch.attached, batch
        assert h is not None
        one = ModalModel(
            omega=b.omega[i],
            phi=b.phi[i],
            eta=b.eta[i],
            static=b.static[i],
            attached=Attached(h.phi[i], h.cross[i], h.static[i], h.mass[i], h.omega[i], h.zeta[i]),
        )
        assert float(absolute_limit(one, matrix).margin) == pytest.approx(float(together[i]), rel=1e-9)
        dense = receptance(one, np.linspace(1500.0, 50_000.0, 20_000))
        assert np.isfinite(dense).all()


def test_squeal_of_one_mode_with_an_absorber() -> None:
    """Independent route: on a negative dashpot of the told size the roots of the matrices stand still."""
    bar = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.02)
    model = hang(bar, bar.phi[:, 1:2], mass=0.05 / bar.phi[0, 1] ** 2, hertz=950.0, zeta=0.1)
    slope = squeal_limit(model, Y_AXIS)
    M, C, K = written_out(model)
    push = np.append(bar.phi[:, 1], 0.0)
    state = np.block([[np.zeros((2, 2)), np.eye(2)], [-np.linalg.solve(M, K), np.zeros((2, 2))]])
    for share, sign in ((0.999, -1.0), (1.001, 1.0)):
        state[2:, 2:] = -np.linalg.solve(M, C - share * slope * np.outer(push, push))
        assert np.sign(np.linalg.eigvals(state).real.max()) == sign
    assert slope > squeal_limit(bar, Y_AXIS)


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
    """Closed form (f.phi, f.mu): cantilever shape and m phi^2 over a quarter of the bar; slender, for shear."""
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
    assert one_way.turned.at(90.0) == pytest.approx(sideways.margin, rel=1e-3)
    both = turned(answered("both").tool, np.array([0.0, 37.0]))
    margins = absolute_limit(both, answered("both").case.stiffness).margin
    assert margins[1] == pytest.approx(margins[0], rel=1e-3)  # the pair's difference on this mesh


def test_the_whole_answer_counts_the_absorber() -> None:
    """Principle: limit, speeds, depth, bands and levers all come from the model with it; 'without' is without."""
    found = answered("both")
    assert found.bare_margin is not None
    plain = cut_answer(run_study(ROUND))
    assert plain.bare_margin is None
    assert found.bare_margin == pytest.approx(plain.margin, rel=1e-9)
    assert found.margin > 3.0 * plain.margin
    assert all(one.margin >= 0.999 * found.margin for one in found.speeds)
    assert found.spread.margin.low > plain.spread.margin.high
    assert {"absorber tuning", "absorber damping"} <= set(found.spread.bands)
    # The lever of the tuning is the best of the search, and a rerun with it agrees.
    best = best_tuning(found.both, found.case.stiffness)
    assert best is not None
    slug = replace(SLUG, frequency_hz=best.factor * SLUG.frequency_hz)
    again = cut_answer(run_study(replace(ROUND, absorber=slug)))
    assert again.margin == pytest.approx(best.margin, rel=1e-6)
    assert again.margin >= found.margin


def test_a_bad_absorber_is_refused_where_it_is_made() -> None:
    """Shapes and signs are checked where data is made."""
    model, place = some_modes()
    with pytest.raises(InputError, match="one or two"):
        hang(model, np.hstack([place, place]), mass=0.1, hertz=900.0, zeta=0.1)
    for mass, hertz, zeta in ((-0.1, 900.0, 0.1), (0.1, 0.0, 0.1), (0.1, 900.0, 0.0)):
        with pytest.raises(InputError, match="above zero"):
            hang(model, place, mass=mass, hertz=hertz, zeta=zeta)
    with pytest.raises(InputError, match="each of 5 modes"):
        replace(
            model,
            attached=hang(picked(model, np.arange(5) < 2), place[:2], mass=1.0, hertz=1.0, zeta=1.0).attached,
        )
