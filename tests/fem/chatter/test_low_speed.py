"""Rubbing at low speed, waves on the work, and the squeal of a falling force."""

from __future__ import annotations

import re

import numpy as np
import pytest
from cut_cases import MM, N_PER_MM2, N_PER_UM, Y_AXIS, Z_AXIS, ids, in_plane, one_mode
from rubbing_references import normal_widths, rubbed_width_limit, rubbing_coefficient, with_rubbing
from values import assert_close, check_value

from stickout.fem.chatter.low_speed import cutting_speed, squeal_slope
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.flank import LAND_CONTACT, wave_of_land
from stickout.fem.force.nose import engaged_edge

PER_MM3 = 1e9
"""N/mm^3 in N/m^3."""
M_PER_MIN = 1.0 / 60.0


@pytest.mark.parametrize("record_id", ids(r"c\.pd\..*"))
def test_flank_indentation(record_id: str) -> None:
    """Damping, quiet speed, wavelength and width limit of the flank law [c.pd]; Ksp is from memory."""
    given = check_value(record_id).inputs
    kind = re.split(r"\.", record_id)[2]
    speed = given.get("vc_m_min", 1.0) * M_PER_MIN
    if kind == "lambda":
        assert_close(record_id, speed / given["fc_Hz"] / MM)  # kinematics
        return
    contact, land = given["Ksp_N_mm3"] * PER_MM3, given["Lw_mm"] * MM
    omega, thrust = 2.0 * np.pi * given["fn_Hz"], given["Kr_N_mm2"] * N_PER_MM2
    if kind == "vstar":
        wave = wave_of_land(contact, land, thrust=thrust)
        assert_close(record_id, wave * given["fn_Hz"] / M_PER_MIN)
    elif kind == "lambdastar":
        assert_close(record_id, wave_of_land(contact, land, thrust=thrust) / MM)
    elif kind == "cp":
        assert_close(record_id, rubbing_coefficient(contact, land, speed=speed) * MM)
    else:
        limit = rubbed_width_limit(
            given["k_N_um"] * N_PER_UM,
            given["zeta"],
            omega=omega,
            thrust=thrust,
            rubbing=rubbing_coefficient(contact, land, speed=speed),
        )
        assert_close(record_id, None if limit is None else limit / MM)


def test_width_limit_printed_for_40_m_per_min() -> None:
    """0.9000 mm at 40 m/min (computed apart from the program), and the dry closed form without rubbing."""
    rubbing = rubbing_coefficient(4.1e5 * PER_MM3, 0.02 * MM, speed=40.0 * M_PER_MIN)
    omega = 2.0 * np.pi * 1000.0
    limit = rubbed_width_limit(4e6, 0.02, omega=omega, thrust=600e6, rubbing=rubbing)
    assert limit is not None
    assert limit / MM == pytest.approx(0.9000, abs=5e-5)  # half of the last printed digit
    dry = rubbed_width_limit(4e6, 0.02, omega=omega, thrust=600e6, rubbing=0.0)
    assert dry == pytest.approx(2.0 * 4e6 * 0.02 * 1.02 / 600e6, rel=1e-12)  # closed form


def test_published_spread() -> None:
    """The contact coefficient taken lies well inside the published ones [j.ksp], from memory."""
    assert_close("j.ksp", LAND_CONTACT / PER_MM3)


def test_rubbing_on_a_modal_model() -> None:
    """The added loss is the dashpot's: margin of one mode with a dashpot of c b along the normal."""
    stiffness, zeta, frequency, width = 4e6, 0.02, 1000.0, 0.5 * MM
    rubbing = rubbing_coefficient(4.1e5 * PER_MM3, 0.02 * MM, speed=80.0 * M_PER_MIN)
    model = one_mode(stiffness, frequency, zeta=zeta)
    rubbed = with_rubbing(model, width * np.outer(Y_AXIS, Y_AXIS), rubbing=rubbing)
    zeta_all = zeta + rubbing * width * 2.0 * np.pi * frequency / (2.0 * stiffness)
    margin = float(absolute_limit(rubbed, 600e6 * width * np.outer(Y_AXIS, Y_AXIS)).margin)
    closed = 2.0 * stiffness * zeta_all * (1.0 + zeta_all) / (600e6 * width)
    assert margin == pytest.approx(closed, rel=1e-8)  # search error 1e-9
    # A mode square to the normal does not rub.
    aside = one_mode(stiffness, frequency, zeta=zeta, axis=Z_AXIS)
    assert with_rubbing(aside, width * np.outer(Y_AXIS, Y_AXIS), rubbing=rubbing).eta == pytest.approx(
        aside.eta
    )


def test_normal_widths() -> None:
    """The matrix of normals has the engaged length from the nose bottom on as its trace."""
    edge = engaged_edge(0.3 * MM, 0.05 * MM, nose_radius=0.4 * MM, edge_angle_deg=95.0)
    widths = normal_widths(edge)
    ahead = edge.nose_radius * edge.leading_angle + edge.straight_length
    assert np.trace(widths) == pytest.approx(float(ahead), rel=1e-12)  # cos^2 + sin^2
    assert widths[0, 2] == widths[2, 0] == float(edge.width_pf)


def test_squeal_threshold() -> None:
    """Falling force against the tangential mode [c.fall]: slope, and drop over 20 m/min."""
    given = check_value("c.fall.crit").inputs
    model = one_mode(given["k_N_um"] * N_PER_UM, given["fn_Hz"], zeta=given["zeta"], axis=Z_AXIS)
    slope = float(squeal_slope(model, Z_AXIS)[0])
    assert_close("c.fall.c", slope)
    assert_close("c.fall.crit", slope * given["dv_m_min"] * M_PER_MIN)
    # A mode at 60 degrees to the cutting direction has a quarter of the motion squared.
    tilted = one_mode(given["k_N_um"] * N_PER_UM, given["fn_Hz"], zeta=given["zeta"], axis=in_plane(30.0))
    assert float(squeal_slope(tilted, Z_AXIS)[0]) == pytest.approx(4.0 * slope, rel=1e-12)
    assert np.isinf(squeal_slope(model, Y_AXIS)[0])


def test_cutting_speed() -> None:
    """24 mm at 315 rpm: 23.75 m/min (own record)."""
    assert cutting_speed(24.0 * MM, 315.0) / M_PER_MIN == pytest.approx(23.75, abs=0.005)  # printed digits
