"""Limits at every speed: closed forms, both orientations, receptances, eigenvalues, batches."""

from __future__ import annotations

import numpy as np
import pytest
from chatter_references import mode_margins, oriented_limit, oriented_receptance
from cut_cases import (
    MM,
    N_PER_MM2,
    N_PER_UM,
    Y_AXIS,
    Z_AXIS,
    flatted_bar,
    ids,
    in_plane,
    modal_pair,
    modal_stiffness,
    nose_case,
    one_mode,
    sampled_models,
)
from values import assert_close, check_value

from stickout.fem.chatter.loop import loop_matrix, lowest_real
from stickout.fem.chatter.receptance import (
    ModalModel,
    frequency_nodes,
    relative_model,
    residual,
)
from stickout.fem.chatter.stability import absolute_limit, limiting_mode, margin_from_real
from stickout.fem.force.nose import engaged_edge
from stickout.meshes.errors import InputError


def passive_limit_mm(model: ModalModel, coefficient_n_per_mm2: float) -> float:
    """Return the width limit [mm] for motion and force along y."""
    limit = oriented_limit(
        model, normal=Y_AXIS, force_axis=Y_AXIS, coefficient=coefficient_n_per_mm2 * N_PER_MM2
    )
    return float(limit.margin) / MM


def test_one_mode_closed_form() -> None:
    """``2 k zeta (1 + zeta) / Ks`` at ``fn sqrt(1 + 2 zeta)`` [c.1dof.bmin], structural ``k eta / Ks``."""
    assert_close("c.1dof.bmin", passive_limit_mm(one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.03), 1500.0))
    limit = absolute_limit(one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.03), 1.5e9 * np.outer(Y_AXIS, Y_AXIS))
    # The bottom is flat: a margin good to 1e-9 fixes the frequency to about 1e-5 of a half width.
    assert float(limit.chatter_hz) == pytest.approx(1000.0 * np.sqrt(1.06), rel=1e-5)
    assert_close("c.visc.blim", passive_limit_mm(one_mode(3.0 * N_PER_UM, 1050.0, zeta=0.02), 600.0))
    structural = one_mode(3.0 * N_PER_UM, 1050.0, zeta=0.02, viscous=False)
    assert_close("c.struct.blim", passive_limit_mm(structural, 600.0))


@pytest.mark.parametrize("zeta", [0.0005, 0.005, 0.05, 0.2])
def test_every_loss_is_resolved(zeta: float) -> None:
    """Closed form over four decades of loss: the grid finds each resonance however sharp."""
    found = passive_limit_mm(one_mode(4.0 * N_PER_UM, 800.0, zeta=zeta), 1500.0)
    exact = 2.0 * 4.0e3 * zeta * (1.0 + zeta) / 1500.0
    assert found == pytest.approx(exact, rel=1e-7)  # zooms leave 1e-9, the grid of valleys nothing


def test_negative_orientation() -> None:
    """A mode pushed the wrong way chatters below its own frequency [b.negu.blim, b.negu ratio 0.97980]."""
    model = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.02)
    limit = absolute_limit(model, -0.2 * 2e9 * np.outer(Y_AXIS, Y_AXIS))
    assert_close("b.negu.blim", float(limit.margin) / MM)
    assert float(limit.chatter_hz) == pytest.approx(979.80, abs=0.02)  # printed 0.97980, flat bottom


@pytest.mark.parametrize("record_id", ids(r"b\.u\.beta70\..*"))
def test_orientation_factor(record_id: str) -> None:
    """One straight mode: the limit is ``2 k zeta (1 +- zeta) / (Ks |u|)`` with u of the record."""
    given = check_value(record_id).inputs
    model = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.02, axis=in_plane(given["alpha_deg"]))
    e = in_plane(given["beta_deg"])
    shape = model.phi[0] / np.linalg.norm(model.phi[0])
    u = float((shape @ Y_AXIS) * (shape @ e))
    assert_close(record_id, u)
    alone = float(mode_margins(model, 2e9 * np.outer(e, Y_AXIS))[0])
    found = float(oriented_limit(model, normal=Y_AXIS, force_axis=e, coefficient=2e9).margin)
    if abs(u) > 1e-12:
        # Same closed form, but the search has its own error of about 1e-9.
        assert found == pytest.approx(alone, rel=1e-7)
        assert alone == pytest.approx(0.16 * MM * (0.5 * (1 + np.sign(u) * 0.02)) / abs(u), rel=1e-9)


@pytest.mark.parametrize("record_id", ids(r"b\.u\.(max|min)\..*"))
def test_best_and_worst_orientation(record_id: str) -> None:
    """The extremes of u over all mode directions [b.u.max, b.u.min], found by the limits of turned modes."""
    beta = check_value(record_id).inputs["beta_deg"]
    e = in_plane(beta)
    worst = "max" in record_id
    angle = beta / 2.0 + (0.0 if worst else 90.0)
    limits = [
        float(mode_margins(one_mode(1e6, 500.0, zeta=0.02, axis=in_plane(a)), np.outer(e, Y_AXIS))[0])
        for a in (angle - 1.0, angle, angle + 1.0)
    ]
    assert limits[1] < min(limits[0], limits[2])
    sign = 1.0 if worst else -1.0
    assert_close(record_id, sign * 2.0 * 1e6 * 0.02 * (1.0 + sign * 0.02) / limits[1])


def test_worked_pair() -> None:
    """Modal stiffness, orientation, direction cosine of the worked pair [b.modal]."""
    model, e = modal_pair(), in_plane(66.0)
    stiffness = [k / N_PER_UM for k in modal_stiffness(model)]
    shapes = model.phi / np.linalg.norm(model.phi, axis=1)[:, None]
    u = (shapes @ Y_AXIS) * (shapes @ e)
    assert_close("b.modal.k1", stiffness[0])
    assert_close("b.modal.k2", stiffness[1])
    assert_close("b.modal.u1", float(u[0]))
    assert_close("b.modal.u2", float(u[1]))
    assert_close("b.modal.cosforce2", float(abs(shapes[1] @ e)))


@pytest.mark.parametrize("record_id", ids(r"b\.Go\.(re|im)\.\d+"))
def test_oriented_receptance(record_id: str) -> None:
    """Oriented receptance of the worked pair at single frequencies [b.Go]."""
    w = np.array([2.0 * np.pi * check_value(record_id).inputs["f_Hz"]])
    value = oriented_receptance(modal_pair(), w, normal=Y_AXIS, force_axis=in_plane(66.0))[0] * 1e9
    assert_close(record_id, float(value.real if ".re." in record_id else value.imag))


def test_limit_of_the_worked_pair() -> None:
    """Limit between the two modes, neither tap peak [b.Go.blim, b.Go.minRe]; mode 1 limits (record)."""
    model, e = modal_pair(), in_plane(66.0)
    limit = oriented_limit(model, normal=Y_AXIS, force_axis=e, coefficient=2e9)
    assert_close("b.Go.blim", float(limit.margin) / MM)
    assert_close("b.Go.minRe", -1e9 / (2.0 * 2e9 * float(limit.margin)))
    assert 1050.0 < float(limit.chatter_hz) < 1160.0
    assert int(limiting_mode(model, limit, matrix=2e9 * np.outer(e, Y_AXIS))) == 0
    assert np.argmin(mode_margins(model, 2e9 * np.outer(e, Y_AXIS))) == 0


@pytest.mark.parametrize("record_id", ids(r"b\.flat\.blim\..*"))
def test_turning_the_weak_axis(record_id: str) -> None:
    """Limit of the flatted bar against the angle of its weak axis [b.flat]: fourfold."""
    given = check_value(record_id).inputs
    limit = oriented_limit(
        flatted_bar(given["theta_deg"], zeta=given["zeta"]),
        normal=Y_AXIS,
        force_axis=in_plane(given["beta_deg"]),
        coefficient=given["Ks_N_mm2"] * N_PER_MM2,
    )
    assert_close(record_id, float(limit.margin) / MM)


def test_flatted_bar_itself() -> None:
    """The helper's bar is the one of the records [b.flat.kw, ks, fw; b.modalk.ratio]."""
    model = flatted_bar(0.0)
    weak, strong = modal_stiffness(model)
    ratio = 1.8751040687**4 / 12.0
    assert_close("b.modalk.ratio", ratio)
    assert_close("b.flat.kw", weak / ratio / N_PER_UM)
    assert_close("b.flat.ks", strong / ratio / N_PER_UM)
    assert_close("b.flat.fw", float(model.omega[0]) / (2.0 * np.pi))


def test_round_bar_does_not_mind_turning() -> None:
    """An equal pair limits at ``2 k zeta (1 + zeta) / (Ks cos beta)`` in any basis [b.round]."""
    given = check_value("b.degenerate.sum").inputs
    e = in_plane(given["beta_deg"])
    k = 3.0 * 210e9 * np.pi * 16e-3**4 / 64.0 / 80e-3**3 * 1.8751040687**4 / 12.0
    for angle in (0.0, np.degrees(given["basis_rad"]), 71.0):
        first = one_mode(k, 1800.0, zeta=0.02, axis=in_plane(angle))
        pair = relative_model(first, one_mode(k, 1800.0, zeta=0.02, axis=in_plane(angle + 90.0)))
        shapes = pair.phi / np.linalg.norm(pair.phi, axis=1)[:, None]
        assert_close("b.degenerate.sum", float(((shapes @ Y_AXIS) * (shapes @ e)).sum()))
        limit = oriented_limit(pair, normal=Y_AXIS, force_axis=e, coefficient=2e9)
        assert_close("b.round.blim", float(limit.margin) / MM)


def test_tool_and_work_together() -> None:
    """Receptances are added before the minimum is taken [c.sum]; the sum of the minima is far off."""
    tool = one_mode(3.0 * N_PER_UM, 1050.0, zeta=0.02)
    work = one_mode(5.0 * N_PER_UM, 900.0, zeta=0.015)
    both = relative_model(tool, work)
    limits = {name: passive_limit_mm(m, 600.0) for name, m in (("tool", tool), ("work", work), ("sum", both))}
    assert_close("c.sum.tool.blim", limits["tool"])
    assert_close("c.sum.sum.blim", limits["sum"])
    assert limits["work"] == pytest.approx(0.25375, rel=1e-6)  # 2 k zeta (1 + zeta) / Kr, computed apart
    limit = absolute_limit(both, 600e6 * np.outer(Y_AXIS, Y_AXIS))
    assert_close("c.sum.sum.fc", float(limit.chatter_hz))
    assert_close("c.sum.naive", 1.0 / (1.0 / limits["tool"] + 1.0 / limits["work"]))


def test_residual_raises_the_limit() -> None:
    """Static correction of 40 N/um beside one mode [c.residual.blim]."""
    mode = one_mode(3.0 * N_PER_UM, 1050.0, zeta=0.02)
    extra = np.outer(Y_AXIS, Y_AXIS) / (check_value("c.residual.blim").inputs["k_res_N_um"] * N_PER_UM)
    model = ModalModel(omega=mode.omega, phi=mode.phi, eta=mode.eta, static=mode.static + extra, viscous=True)
    assert residual(model) == pytest.approx(extra, abs=1e-20)
    assert_close("c.residual.blim", passive_limit_mm(model, 600.0))


@pytest.mark.parametrize("record_id", ids(r"c\.vec\..*"))
def test_margin_of_a_nose_cut(record_id: str) -> None:
    """Margin of the flatted bar with a nose of any depth [c.vec], own fine grid at source."""
    given = check_value(record_id).inputs
    matrix = nose_case(given["ap_mm"], nose_mm=given["r_mm"])
    model = flatted_bar(given["weak_axis_deg"], zeta=given["zeta"])
    assert_close(record_id, float(absolute_limit(model, matrix).margin))


def test_a_batch_equals_its_members() -> None:
    """Principle: hundreds at once give what each gives alone, against a brute-force search."""
    models, matrix = sampled_models(12), nose_case()
    together = absolute_limit(models, matrix).margin
    for i in range(12):
        alone = ModalModel(
            omega=models.omega[i], phi=models.phi[i], eta=models.eta[i], static=models.static[i]
        )
        assert float(absolute_limit(alone, matrix).margin) == pytest.approx(together[i], rel=1e-12)
        w = np.unique(np.concatenate([frequency_nodes(alone, per_mode=6001)]))
        brute = margin_from_real(lowest_real(loop_matrix(alone, matrix, w=w)).min())
        # The brute grid steps by 2e-3 of the distance to a mode; its own error is the square of that.
        assert together[i] == pytest.approx(float(brute), rel=1e-5)


def test_matrices_in_a_batch() -> None:
    """One model under many cuts: margins scale as the inverse of the coefficients."""
    model = flatted_bar(30.0)
    matrices = nose_case() * np.array([0.5, 1.0, 2.0])[:, None, None]
    margins = absolute_limit(model, matrices).margin
    assert margins * [0.5, 1.0, 2.0] == pytest.approx(np.full(3, margins[1]), rel=1e-9)  # exact scaling


def test_no_limit_where_nothing_is_driven() -> None:
    """A mode square to the cut has no limit: infinite, by search and alone."""
    model = one_mode(1e6, 500.0, zeta=0.01, axis=Z_AXIS)
    matrix = 1e9 * np.outer(Y_AXIS, Y_AXIS)
    assert np.isinf(absolute_limit(model, matrix).margin)
    assert np.isinf(mode_margins(model, matrix)[0])


@pytest.mark.parametrize("record_id", ids(r"c\.LDcrit\..*"))
def test_overhang_rule(record_id: str) -> None:
    """At the recorded overhang the saturated passive demand just equals the capacity [c.LDcrit].

    The records take the static stiffness 3 E I / L^3 as k; the modal one would give 1 % more length.
    """
    record = check_value(record_id)
    given, diameter = record.inputs, record.inputs["D_mm"] * MM
    length = record.value * diameter
    k = 3.0 * given["E_GPa"] * 1e9 * np.pi * diameter**4 / 64.0 / length**3
    limit = passive_limit_mm(one_mode(k, 1000.0, zeta=given["zeta"]), given["Kr_tan_N_mm2"])
    width = engaged_edge(
        1.0 * MM, 0.01 * MM, nose_radius=given["r_eps_mm"] * MM, edge_angle_deg=90.0
    ).width_pp
    assert_close(record_id, record.value * (limit * MM / float(width)) ** (1.0 / 3.0))


@pytest.mark.parametrize("record_id", ids(r"c\.ksneed\..*"))
def test_damping_that_any_depth_needs(record_id: str) -> None:
    """With the recorded damping the saturated cut has a margin of one [c.ksneed]."""
    record = check_value(record_id)
    k = 3.0 * 210e9 * np.pi * 16e-3**4 / 64.0 / 80e-3**3
    kr = check_value("c.nose.Kr_tan").value
    limit = passive_limit_mm(one_mode(k, 1800.0, zeta=record.value), kr)
    width = np.pi * record.inputs["r_eps_mm"] / 4.0
    slope = (1.0 + 2.0 * record.value) / (record.value * (1.0 + record.value))
    # First order: the zeta at which the margin is one, from the margin at the recorded zeta.
    assert_close(record_id, record.value - (limit / width - 1.0) / slope)


def test_impossible_coefficient() -> None:
    """A force coefficient of zero is refused."""
    with pytest.raises(InputError) as caught:
        oriented_limit(modal_pair(), normal=Y_AXIS, force_axis=Y_AXIS, coefficient=0.0)
    assert caught.value.key == "coefficient"
