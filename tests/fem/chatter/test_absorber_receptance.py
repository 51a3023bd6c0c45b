"""The absorber in the receptance: exact against matrices written out, its limits, stability by roots."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from absorber_models import hang, some_modes, written_out
from absorber_references import scaled_receptance
from chatter_references import boundary, modes_only, oriented_limit
from cut_cases import N_PER_UM, Y_AXIS, Z_AXIS, nose_case, one_mode, sampled_models
from delayed_matrices import rightmost_growth

from stickout.fem.chatter.absorber_theory import Pair, Tuning, worst_negative_real
from stickout.fem.chatter.attached import mode_parts, pull, resonances
from stickout.fem.chatter.changed import picked, rescaled
from stickout.fem.chatter.modal import Attached, ModalModel, modal_static
from stickout.fem.chatter.receptance import receptance, relative_model
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.chatter.stability import absolute_limit, limiting_mode
from stickout.fem.cut.absorber import squeal_limit
from stickout.fem.errors import InputError


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
    model = modes_only(model.omega[:2], model.phi[:2], eta=model.eta[:2], viscous=True)
    model = hang(model, place[:2], mass=0.004, hertz=940.0, zeta=0.12)
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
    assert at.real == pytest.approx(0.0, abs=1e-6 * float(omega[0]))
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
    """Principle: sampled models with one absorber each, limits as alone; the bar rescaled, its slug not."""
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
