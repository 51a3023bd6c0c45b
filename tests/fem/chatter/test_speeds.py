"""Limits at given speeds and lobes, against exact lobes and three independent solutions of the delay."""

from __future__ import annotations

import numpy as np
import pytest
from chatter_references import boundary, lobes, modes_only
from cut_cases import (
    MM,
    N_PER_UM,
    Y_AXIS,
    close_models,
    ids,
    nose_case,
    one_mode,
    sampled_models,
)
from delayed import rightmost_root, semi_discrete_growth, simulated_growth
from values import assert_close, check_value

from stickout.fem.chatter.lobes import wave_phase, waves_per_turn
from stickout.fem.chatter.loop import loop_matrix, tracked_eigenvalues
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.chatter.stability import absolute_limit, margin_from_real
from stickout.meshes.errors import InputError

TEXTBOOK = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.03)
PASSIVE = 1.5e9 * np.outer(Y_AXIS, Y_AXIS)
"""Ks 1500 N/mm^2 on an edge of 1 m: the margin is the width in metres."""
STIFFNESS_OVER_KS = 4e6 / 1.5e9


def at(record_id: str) -> tuple[float, float]:
    """Return margin [mm] and phase [rad] of the text-book mode at the record's frequency ratio."""
    w = np.array([check_value(record_id).inputs["r"]]) * TEXTBOOK.omega[0]
    edge = boundary(TEXTBOOK, PASSIVE, w=w)
    lowest = int(np.argmin(edge.margin[:, 0]))
    return float(edge.margin[lowest, 0]) / MM, float(edge.phase[lowest, 0])


@pytest.mark.parametrize("record_id", ids(r"c\.1dof\.b\..*"))
def test_width_on_the_boundary(record_id: str) -> None:
    """Exact one-mode boundary at a frequency ratio [c.1dof.b]."""
    assert_close(record_id, at(record_id)[0])


@pytest.mark.parametrize("record_id", ids(r"c\.1dof\.eps\..*"))
def test_phase_on_the_boundary(record_id: str) -> None:
    """Phase between successive waves, with the branch that ``3 pi + 2 psi`` means [c.1dof.eps]."""
    assert_close(record_id, float(np.degrees(at(record_id)[1])))


@pytest.mark.parametrize("record_id", ids(r"c\.1dof\.n\..*"))
def test_speed_on_a_lobe(record_id: str) -> None:
    """Spindle speed of each lobe at a frequency ratio [c.1dof.n]."""
    given = check_value(record_id).inputs
    w = np.array([given["r"]]) * TEXTBOOK.omega[0]
    (lobe,) = lobes(boundary(TEXTBOOK, PASSIVE, w=w), [given["j"]])
    lowest = int(np.argmin(lobe.margin[:, 0]))
    assert_close(record_id, float(lobe.speed_rpm[lowest, 0]))


def pocket_tip(j: int) -> tuple[float, float]:
    """Return speed [rpm] and margin [m] where the limit is best between lobes j - 1 and j, by zooming."""
    low, high = 60000.0 / j * 1.001, 60000.0 / j * 1.06
    for _ in range(4):
        speeds = np.linspace(low, high, 41)
        margins = limits_at_speeds(TEXTBOOK, PASSIVE, speeds_rpm=list(speeds)).margin
        best = int(np.clip(np.argmax(margins), 1, 39))
        low, high = speeds[best - 1], speeds[best + 1]
    # Four zooms of twenty: 4e-7 of the speed. The tip is a corner, so its margin is good to some 1e-5.
    return float(speeds[best]), float(margins[best])


@pytest.mark.parametrize("j", [1, 2, 3, 5, 10, 20])
def test_lobe_crossings(j: int) -> None:
    """Pocket tips lie a little above 60 fn / j; tip and gain searched with the limits alone [c.1dof.peak]."""
    speed, margin = pocket_tip(j)
    printed = {1: (60916.0, 11.26), 2: (30517.0, 5.452), 5: (12231.5, 2.482), 20: (3065.0, 1.222)}
    if j in printed:
        # The record prints gains to four digits, and speeds to five (j 5: the record; j 20: no speed).
        assert margin / MM / 0.1648 == pytest.approx(printed[j][1], abs=0.005 if j == 1 else 0.0005)
        assert j == 20 or speed == pytest.approx(printed[j][0], rel=1e-5)
    for name, value in ((f"c.1dof.peak.n.j{j}", speed), (f"c.1dof.peak.b.j{j}", margin / MM)):
        if name in ids(r"c\.1dof\.peak\..*"):
            assert_close(name, value)


@pytest.mark.parametrize("record_id", ids(r"c\.1dof\.pocket\..*"))
def test_waves_per_turn(record_id: str) -> None:
    """A pocket's first guess holds a whole number of natural waves [c.1dof.pocket]."""
    record = check_value(record_id)
    waves = waves_per_turn(2.0 * np.pi * record.inputs["fn_Hz"], record.value)
    assert float(waves) == pytest.approx(record.inputs["j"], rel=1e-9)  # the record's own tolerance
    assert_close(record_id, 60.0 * record.inputs["fn_Hz"] / float(waves))


def test_speed_hardly_matters_with_many_waves() -> None:
    """At 100 waves a turn the limit lies within the gain of that pocket of the absolute one.

    Gains shrink about as 1 + 2.2 / j for zeta 0.03 (1.222 at j 20, computed apart), so below 5 % at j 100.
    """
    margins = limits_at_speeds(TEXTBOOK, PASSIVE, speeds_rpm=list(np.linspace(595.0, 605.0, 40))).margin
    least = float(absolute_limit(TEXTBOOK, PASSIVE).margin)
    assert np.all(margins >= least * (1.0 - 1e-12))
    assert np.all(margins < 1.05 * least)


def test_limits_at_speeds_against_brute_force() -> None:
    """Independent search: every sign change of the phase condition on a fine even grid, both eigenvalues."""
    models, matrix = sampled_models(6), nose_case()
    speeds = np.array([315.0, 2000.0, 9000.0, 40000.0])
    found = limits_at_speeds(models, matrix, speeds_rpm=list(speeds))
    assert found.margin.shape == (6, 4)
    for i in range(6):
        model = ModalModel(
            omega=models.omega[i], phi=models.phi[i], eta=models.eta[i], static=models.static[i]
        )
        w = np.linspace(0.35 * model.omega.min(), 2.0 * model.omega.max(), 600_000)
        lam = tracked_eigenvalues(loop_matrix(model, matrix, w=w))
        for k, turn in enumerate(60.0 / speeds):
            count = (w * turn - wave_phase(lam)) / (2.0 * np.pi)
            crossing = np.floor(count[:, 1:]) != np.floor(count[:, :-1])
            inside = (lam.real[:, 1:] < 0.0) & (lam.real[:, :-1] < 0.0)
            margins = margin_from_real(np.where(crossing & inside, lam.real[:, 1:], np.inf))
            # The crossing is somewhere in the step: sharp modes move by up to 1 % of lambda in it.
            assert found.margin[i, k] == pytest.approx(margins.min(), rel=0.02)


def test_close_modes_do_not_hide_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Principle: with eight times the nodes and five times the candidates the answers stay."""
    models, matrix, speeds = close_models(40), nose_case(), [315.0, 5000.0, 60000.0]
    usual = limits_at_speeds(models, matrix, speeds_rpm=speeds).margin
    monkeypatch.setattr("stickout.fem.chatter.speeds._PER_MODE", 800)
    monkeypatch.setattr("stickout.fem.chatter.speeds._CANDIDATES", 30)
    # Bisection leaves rounding; 3000 such models agreed to 1e-9 when this was written.
    assert usual == pytest.approx(limits_at_speeds(models, matrix, speeds_rpm=speeds).margin, rel=1e-7)


@pytest.mark.parametrize("models", [sampled_models(20), close_models(300)], ids=["apart", "close"])
def test_the_chatter_at_a_speed_solves_the_equation(models: ModalModel) -> None:
    """Residual: ``det(I + s (1 - exp(-i w tau)) G A) = 0`` at each answer, with nearly equal modes too."""
    matrix, speeds = nose_case(), [315.0, 2000.0, 9000.0, 60000.0]
    limit = limits_at_speeds(models, matrix, speeds_rpm=speeds)
    lam = loop_matrix(models, matrix, w=limit.omega)
    turn = 60.0 / np.array(speeds)
    factor = limit.margin * (1.0 - np.exp(-1j * limit.omega * turn))
    whole = np.eye(2)[:, :, None] + factor[:, None, None, :] * lam
    det = whole[:, 0, 0] * whole[:, 1, 1] - whole[:, 0, 1] * whole[:, 1, 0]
    found = np.isfinite(limit.margin)
    assert found.mean() > 0.9
    # The wave is fitted to 1e-6 rad; a sharp mode makes the misfit some 200 times larger.
    assert np.abs(det[found]).max() < 2e-4


@pytest.mark.parametrize("case", ["a", "b", "c", "d", "e", "f"])
def test_sign_of_the_rightmost_root(case: str) -> None:
    """Roots of the delayed oscillator [c.root]: unstable just above our limit at that speed."""
    widths = {"a": 0.07416, "b": 0.05562, "c": 0.1854, "d": 0.1236, "e": 0.0618, "f": 0.05871}
    delays = {"b": 0.012, "c": 0.002, "d": 0.001}
    delay, width = delays.get(case, 0.012388397856060019), widths[case]
    root = rightmost_root(TEXTBOOK.omega[0], 0.03, width, delay)
    for name, value in ((f"c.root.{case}.re", root.real), (f"c.root.{case}.f", root.imag / (2.0 * np.pi))):
        if name in ids(r"c\.root\..*"):
            assert_close(name, float(value))
    limit = limits_at_speeds(TEXTBOOK, PASSIVE, speeds_rpm=[60.0 / delay])
    ours = float(limit.margin[0]) / STIFFNESS_OVER_KS
    if case == "e":
        # The worst speed of lobe 12, where the limit is 2 zeta (1 + zeta).
        assert ours == pytest.approx(0.0618, rel=1e-6)
        assert abs(root.real) < 1e-6
    else:
        assert (root.real > 0.0) == (width > ours)
    at_limit = rightmost_root(TEXTBOOK.omega[0], 0.03, ours, delay)
    # Newton is good to rounding; the limit to 1e-9 of a rate of a few hundred 1/s.
    assert abs(at_limit.real) < 1e-5
    assert at_limit.imag == pytest.approx(float(limit.omega[0]), rel=1e-6)


@pytest.mark.parametrize("record_id", ids(r"c\.sd1\..*"))
def test_semi_discretisation(record_id: str) -> None:
    """First-order semi-discretisation [c.sd1]: the independent scheme itself reproduces its records."""
    given = check_value(record_id).inputs
    growth = semi_discrete_growth(
        2.0 * np.pi * given["fn_Hz"], given["zeta"], given["Ks*b/k"], given["tau_s"], given["N"]
    )
    assert_close(record_id, growth)


def test_semi_discretisation_crosses_at_our_limit() -> None:
    """The scheme crosses zero within 0.5 % of our width (computed apart from the program)."""
    delay = 0.012388397856060019
    ours = float(limits_at_speeds(TEXTBOOK, PASSIVE, speeds_rpm=[60.0 / delay]).margin[0]) / STIFFNESS_OVER_KS
    growth = [semi_discrete_growth(TEXTBOOK.omega[0], 0.03, w * ours, delay, 496) for w in (0.995, 1.005)]
    assert growth[0] < 0.0 < growth[1]


@pytest.mark.parametrize("record_id", ids(r"c\.sim\..*"))
def test_time_steps(record_id: str) -> None:
    """Growth rates from Runge-Kutta steps [c.sim]: the independent simulation reproduces its records."""
    given = check_value(record_id).inputs
    matrices = np.array([given["Ks*b/k"] * STIFFNESS_OVER_KS])[:, None, None] * PASSIVE
    growth = simulated_growth(TEXTBOOK, matrices, delay=given["tau_s"], duration=0.25, per_period=40)
    assert_close(record_id, float(growth[0]))


def test_hsu_bhatia_lines() -> None:
    """Delayed oscillator ``x'' + delta x = b x(t - 2 pi)`` [c.hsubhatia]: ``b = (-1)^k (delta - k^2/4)``.

    With stiffness omega^2 and cut w omega^2 it has delta = omega^2 (1 + w), b = w omega^2. For odd k the
    lines are our limits at the speed of 2 pi; damping of 1e-7 keeps the resonance finite.
    """
    turn = 2.0 * np.pi
    for k, omega_squared in ((3, 1.5), (3, 1.9), (5, 5.0)):
        omega = np.sqrt(omega_squared)
        model = modes_only(np.array([omega]), Y_AXIS[None, :], eta=np.array([1e-7]))
        limit = limits_at_speeds(model, np.outer(Y_AXIS, Y_AXIS), speeds_rpm=[60.0 / turn])
        b = float(limit.margin[0])
        delta = omega_squared + b
        assert b == pytest.approx(
            (-1) ** k * (delta - k**2 / 4.0), rel=1e-5
        )  # damping of 1e-7 moves it so far
        assert float(limit.omega[0]) == pytest.approx(k / 2.0, rel=1e-6)
    # For even k the line is a speed at which any width is on the boundary: delta - b = k^2 / 4.
    given = check_value("c.hsubhatia.delta2").inputs
    b = given["delta"] - given["k"] ** 2 / 4.0
    assert_close("c.hsubhatia.delta2", b)
    on_line = given["delta"] - (given["k"] / 2.0) ** 2 - b * np.exp(-1j * given["k"] / 2.0 * turn)
    assert abs(on_line) < 1e-12  # i k/2 is a root of the characteristic function


def test_wrong_way_hsu_bhatia() -> None:
    """The same lines with a cut that pushes the wrong way: k = 1 bounds b below zero (computed apart)."""
    model = modes_only(np.array([np.sqrt(0.6)]), Y_AXIS[None, :], eta=np.array([1e-7]))
    limit = limits_at_speeds(model, -np.outer(Y_AXIS, Y_AXIS), speeds_rpm=[60.0 / (2.0 * np.pi)])
    b = -float(limit.margin[0])
    assert b == pytest.approx(-(0.6 + b - 0.25), rel=1e-5)  # damping of 1e-7 moves it so far
    assert float(limit.omega[0]) == pytest.approx(0.5, rel=1e-6)


@pytest.mark.parametrize("speeds", [[], [0.0], [315.0, -1.0]])
def test_impossible_speeds(speeds: list[float]) -> None:
    """An empty list, a zero and a negative speed are refused."""
    with pytest.raises(InputError) as caught:
        limits_at_speeds(TEXTBOOK, PASSIVE, speeds_rpm=speeds)
    assert caught.value.key == "speeds_rpm"
    assert caught.value.given == speeds


def test_literature_frequency() -> None:
    """Input recalled from Kalmár-Nagy, Stépán & Moon 2001 [c.lit.KN.wn]: 10 kg, 3.35 MN/m."""
    given = check_value("c.lit.KN.wn").inputs
    omega = np.sqrt(given["k"] / given["m"])
    assert_close("c.lit.KN.wn", float(omega))
    zeta = 0.0135
    limit = absolute_limit(one_mode(given["k"], omega / (2.0 * np.pi), zeta=zeta), PASSIVE / 1.5e9)
    # 2 zeta (1 + zeta) = 0.0273645 is printed to seven digits.
    assert float(limit.margin) / given["k"] == pytest.approx(0.0273645, abs=5e-8)
