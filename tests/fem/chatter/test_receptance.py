"""The modal model, its receptance, and the eigenvalues of G A."""

from __future__ import annotations

import numpy as np
import pytest
from chatter_references import modes_only
from cut_cases import N_PER_UM, Y_AXIS, Z_AXIS, flatted_bar, nose_case, one_mode, sampled_models

from stickout.fem.chatter.changed import turned
from stickout.fem.chatter.loop import felt_directions, loop_matrix, lowest_real, tracked_eigenvalues
from stickout.fem.chatter.receptance import (
    ModalModel,
    frequency_nodes,
    modal_static,
    receptance,
    relative_model,
)
from stickout.fem.chatter.stability import absolute_limit
from stickout.meshes.errors import InputError


def test_receptance_at_rest_and_by_definition() -> None:
    """Principles: at rest and without loss the static compliance comes back; one mode by its formula."""
    model = sampled_models(3)
    tiny = ModalModel(omega=model.omega, phi=model.phi, eta=model.eta * 1e-9, static=model.static)
    at_rest = receptance(tiny, np.zeros((3, 1)))[..., 0]
    assert at_rest.real == pytest.approx(model.static, rel=1e-12, abs=1e-20)  # loss of 1e-10 squared
    one = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.03, viscous=False)
    w = np.array([2.0 * np.pi * 900.0])
    expected = 1.0 / (4.0 * N_PER_UM * (1.0 - 0.81 + 0.06j))
    assert receptance(one, w)[1, 1, 0] == pytest.approx(expected, rel=1e-12)  # rounding


def test_eigenvalues_against_a_general_solver() -> None:
    """The 2x2 form has the two non-zero eigenvalues of the 3x3 product, tracked without a jump."""
    model, matrix = sampled_models(1), nose_case()
    w = frequency_nodes(model)
    pair = tracked_eigenvalues(loop_matrix(model, matrix, w=w))[0]
    product = np.moveaxis(receptance(model, w)[0], -1, 0) @ matrix
    general = np.linalg.eigvals(product)
    for mine, theirs in zip(pair.T, general, strict=True):
        # The third is zero up to the rounding of a product of size one.
        kept = theirs[np.argsort(np.abs(theirs))[1:]]
        assert min(np.abs(mine - kept).max(), np.abs(mine - kept[::-1]).max()) < 1e-9 * max(
            1.0, np.abs(kept).max()
        )
    assert lowest_real(loop_matrix(model, matrix, w=w))[0] == pytest.approx(pair.real.min(axis=0), rel=1e-9)
    dense = np.linspace(5500.0, 8500.0, 100_000)[None]
    fine = tracked_eigenvalues(loop_matrix(model, matrix, w=dense))[0]
    # On a fine grid each curve moves by less than a hundredth of the largest value in a step.
    assert np.abs(np.diff(fine, axis=1)).max() < 0.01 * np.abs(fine).max()


def test_a_cut_that_feels_three_directions_is_refused() -> None:
    """The closed form needs rank two; a matrix of rank three is an error, not a wrong answer."""
    with pytest.raises(InputError, match="two directions"):
        felt_directions(np.eye(3))
    with pytest.raises(InputError, match="the same for all"):
        felt_directions(
            np.stack([np.outer(Y_AXIS, Y_AXIS), np.outer(Z_AXIS, Z_AXIS + 2 * Y_AXIS), np.diag([1.0, 1, 0])])
        )


def test_tool_and_work_need_one_law() -> None:
    """Two damping laws cannot be mixed in one model."""
    tool = one_mode(3.0 * N_PER_UM, 1050.0, zeta=0.02)
    with pytest.raises(InputError, match="same law as the tool"):
        relative_model(tool, one_mode(3.0 * N_PER_UM, 1050.0, zeta=0.02, viscous=False))


def test_bad_modal_model() -> None:
    """Shapes and signs are checked where a model is made."""
    good = one_mode(1e6, 500.0, zeta=0.01)
    with pytest.raises(InputError, match="one loss factor for each frequency"):
        modes_only(good.omega, good.phi, eta=np.array([0.1, 0.2]))
    with pytest.raises(InputError, match="above zero for every mode"):
        modes_only(good.omega, good.phi, eta=np.array([0.0]))


def test_turned_section() -> None:
    """Principle: a bar turned about x meets a fixed cut as the fixed bar meets the cut turned back."""
    angles = np.array([0.0, 30.0, 75.0])
    batch = turned(flatted_bar(0.0), angles)
    margins = absolute_limit(batch, nose_case()).margin
    for angle, margin in zip(angles, margins, strict=True):
        # Right-hand rule about x: y turns toward z, as in_plane counts it.
        assert margin == pytest.approx(
            float(absolute_limit(flatted_bar(angle), nose_case()).margin), rel=1e-9
        )
    assert batch.static[1] == pytest.approx(modal_static(batch.omega, batch.phi[1]), abs=1e-20)
