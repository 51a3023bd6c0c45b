"""End to end: from a bar on springs to its margin, every step by another route than the product's FE."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from cut_cases import MM, N_PER_MM2, N_PER_UM, Y_AXIS, ids, one_mode
from scipy.optimize import brentq
from values import assert_close, check_value

from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.flank import wave_of_land
from stickout.fem.force.law import force_law, tangent_coefficient
from stickout.fem.force.nose import engaged_edge
from stickout.fem.setup.work_materials import work_material


@cache
def bar_on_springs(length_mm: float) -> tuple[float, float]:
    """Return first frequency [Hz] and modal tip stiffness [N/m] of the record's bar on clamp springs.

    Euler-Bernoulli in closed form: four constants of cos, sin, cosh, sinh, and four end conditions.
    """
    length, radius = length_mm * MM, 8.0 * MM
    rigidity, line_mass = 210e9 * np.pi * radius**4 / 4.0, 7850.0 * np.pi * radius**2
    turn, slide = 20000.0 / rigidity, 50e6 / rigidity

    def conditions(b: float) -> np.ndarray:
        c, s, ch, sh = np.cos(b * length), np.sin(b * length), np.cosh(b * length), np.sinh(b * length)
        return np.array(
            [
                [-b * b, -turn * b, b * b, -turn * b],
                [slide, -(b**3), slide, b**3],
                [-c, -s, ch, sh],
                [s, -c, sh, ch],
            ]
        )

    b = brentq(lambda x: np.linalg.det(conditions(x)), 0.8 / length, 1.875 / length, xtol=1e-12)
    weights = np.linalg.svd(conditions(b))[2][-1]
    x = np.linspace(0.0, length, 20001)
    shape = weights @ np.stack([np.cos(b * x), np.sin(b * x), np.cosh(b * x), np.sinh(b * x)])
    omega = b * b * np.sqrt(rigidity / line_mass)
    modal_mass = line_mass * np.trapezoid(shape**2, x) / shape[-1] ** 2
    return float(omega / (2.0 * np.pi)), float(omega**2 * modal_mass)


@pytest.mark.parametrize("record_id", ids(r"x\.chain\..*"))
def test_chain(record_id: str) -> None:
    """Bar 16 mm on springs, C45, feed 0.05: frequency, stiffness, capacity, demand, margin, quiet speed."""
    given = check_value(record_id).inputs
    frequency, stiffness = bar_on_springs(given["L_mm"])
    kind = re.split(r"\.", record_id)[-1]
    if kind == "f1":
        assert_close(record_id, frequency)
        return
    if kind == "kmodal":
        assert_close(record_id, stiffness / N_PER_UM)
        return
    model = one_mode(stiffness, frequency, zeta=given["zeta"])
    capacity = float(absolute_limit(model, np.outer(Y_AXIS, Y_AXIS)).margin)
    if kind == "capacity":
        assert_close(record_id, capacity * MM)
        return
    law = force_law(work_material("C45"), thrust_ratio=given["Kr/Kt"])
    edge = engaged_edge(
        given["ap_mm"] * MM,
        given["f_mm"] * MM,
        nose_radius=given["r_mm"] * MM,
        edge_angle_deg=given["kappa_r_deg"],
    )
    thrust = law.thrust_ratio * float(tangent_coefficient(law, edge.mean_chip))
    demand = thrust * float(edge.width_pp)
    if kind == "demand":
        assert_close(record_id, demand * MM)
    elif kind == "margin":
        assert_close(record_id, capacity / demand)
    else:
        wave = wave_of_land(given["Ksp"] * N_PER_MM2 / MM, given["Lw_mm"] * MM, thrust=thrust)
        assert_close(record_id, wave * frequency * 60.0)


def test_margins_printed_in_the_dossier() -> None:
    """Computed apart from the program: margins 0.223 / 0.445 at 80 mm and 0.710 / 1.420 at 48 mm."""
    law = force_law(work_material("C45"))
    for length, nose, printed in (
        (80.0, 0.4, 0.223),
        (80.0, 0.2, 0.445),
        (48.0, 0.4, 0.710),
        (48.0, 0.2, 1.420),
    ):
        frequency, stiffness = bar_on_springs(length)
        edge = engaged_edge(0.2 * MM, 0.05 * MM, nose_radius=nose * MM, edge_angle_deg=95.0)
        thrust = law.thrust_ratio * float(tangent_coefficient(law, edge.mean_chip))
        matrix = thrust * float(edge.width_pp) * np.outer(Y_AXIS, Y_AXIS)
        margin = float(absolute_limit(one_mode(stiffness, frequency, zeta=0.02), matrix).margin)
        assert margin == pytest.approx(printed, abs=0.0006)  # half of the last printed digit, and the springs
