"""Our limits against an independent simulation of the delayed equation in time."""

from __future__ import annotations

import numpy as np
import pytest
from chatter_references import boundary, modes_only
from cut_cases import N_PER_UM, Y_AXIS, FloatArray, flatted_bar, in_plane, modal_pair, nose_case, one_mode
from delayed import simulated_growth

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.chatter.stability import absolute_limit

TEXTBOOK = one_mode(4.0 * N_PER_UM, 1000.0, zeta=0.03)
PASSIVE = 1.5e9 * np.outer(Y_AXIS, Y_AXIS)
"""Ks 1500 N/mm^2 on an edge of 1 m: the margin is the width in metres."""


def worst_speed(model: ModalModel, matrix: FloatArray, number: int) -> float:
    """Return the time of one turn at which the absolute limit is reached on the given lobe."""
    omega = np.array([float(absolute_limit(model, matrix).omega)])
    edge = boundary(model, matrix, w=omega)
    lowest = int(np.argmin(edge.margin[:, 0]))
    return float((edge.phase[lowest, 0] + 2.0 * np.pi * number) / omega[0])


def nose_model() -> ModalModel:
    """Return three modes with a residual, of the size of a 16 mm bar's first pair and an axial mode."""
    pair = flatted_bar(30.0, zeta=0.02)
    omega = np.append(pair.omega, 2.0 * np.pi * 3500.0)
    phi = np.vstack([pair.phi + np.array([0.4, 0.0, 0.0]), [2.0, 0.8, -1.5]])
    eta = np.append(pair.eta, 0.05)
    modes = modes_only(omega, phi, eta=eta, viscous=True)
    return ModalModel(omega=omega, phi=phi, eta=eta, static=modes.static + 1.5e-8 * np.eye(3), viscous=True)


CASES = {
    "one mode": (TEXTBOOK, PASSIVE * 1e-4, 40),
    "two modes": (modal_pair(), 2e5 * np.outer(in_plane(66.0), Y_AXIS), 40),
    # Sixteen steps to a period of the axial mode are 33 to one of the chatter.
    "nose 3x3": (nose_model(), nose_case(0.2), 16),
}
"""Modal model, A, and time steps to a period of the highest mode."""


@pytest.mark.parametrize("name", CASES)
def test_time_simulation_brackets_the_limit(name: str) -> None:
    """Independent time steps of the delayed equation: quiet 2 % below our limit, growing 2 % above.

    Once at the worst speed of lobe 1, where the absolute limit is meant, and once between lobes.
    """
    model, matrix, per_period = CASES[name]
    absolute = absolute_limit(model, matrix)
    turn = worst_speed(model, matrix, 1)
    other = 1.17 * turn
    found = limits_at_speeds(model, matrix, speeds_rpm=[60.0 / turn, 60.0 / other]).margin
    assert found[0] == pytest.approx(float(absolute.margin), rel=1e-6)  # the lobe's lowest point
    assert found[1] > 1.02 * found[0]
    for delay, margin in zip((turn, other), found, strict=True):
        trials = margin * np.array([0.98, 1.02])[:, None, None] * matrix
        growth = simulated_growth(model, trials, delay=delay, duration=0.25, per_period=per_period)
        assert growth[0] < 0.0 < growth[1], (name, delay, growth)
