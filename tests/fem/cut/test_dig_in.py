"""Dig-in: a blade whose edge the cutting force pulls into the work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import setups
from chatter_references import modes_only
from force_references import cut_matrix
from values import assert_close, check_value

from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.dig_in import dig_in_of, static_factor
from stickout.fem.force.blade import engaged_blade
from stickout.fem.force.case import cut_case
from stickout.fem.setup.file import parse_setup

# Into the work, along the edge, up.
F, C = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])


def test_the_cross_compliance_at_which_a_blade_digs_in() -> None:
    """C.digin: 1 / (Ks b), the force along the cut and the motion into the work alone."""
    given = check_value("C.digin").inputs
    cut = given["Ks"] * 1e6 * given["b"] * 1e-3 * np.outer(C, F)
    factor = static_factor(-1e-6 * np.outer(F, C), cut)
    assert_close("C.digin", factor)
    assert static_factor(1e-6 * np.outer(F, C), cut) == np.inf


@pytest.mark.parametrize(
    ("name", "below", "behind"),
    [("C.goose_pivot_15_below_30_behind", 15.0, 30.0), ("C.goose_pivot_30_below10_behind", 30.0, 10.0)],
)
def test_a_goose_neck_springs_away_or_digs_in(name: str, below: float, behind: float) -> None:
    """C.goose: a tool that turns about a pivot, 2000 N m/rad, force at 70 degrees to the way in."""
    moved = 1e-3 * (below * F - behind * C)
    static = np.outer(moved, moved) / 2000.0
    resultant = np.cos(np.radians(70)) * F + np.sin(np.radians(70)) * C
    expected = float(check_value(name).value) * 1e-6
    cut = 2e6 * np.outer(resultant, F)
    factor = static_factor(static, cut)
    assert F @ static @ resultant == pytest.approx(expected, abs=1e-10)
    assert factor == (pytest.approx(-1 / (2e6 * expected), rel=1e-3) if expected < 0 else np.inf)


def test_a_stiff_blade_parts_quietly_at_every_speed() -> None:
    """C.parting.k: Kr b / (2 zeta (1 + zeta)), one mode along the infeed, square corners."""
    given = check_value("C.parting.k").inputs
    edge = engaged_blade(given["b"] * 1e-3, 0.05e-3, corner_radius=0.0, edge_angle_deg=90.0)
    cut = cut_matrix(edge, tangential=2e9, thrust=given["Kr"] * 1e6)
    omega = np.array([2 * np.pi * 900.0])
    stiff = check_value("C.parting.k").value * 1e6
    model = modes_only(
        omega, (omega / np.sqrt(stiff))[:, None] * F, eta=np.array([2 * given["zeta"]]), viscous=True
    )
    found = absolute_limit(model, _turned(cut))
    assert float(found.margin) == pytest.approx(1.0, rel=1e-6)


def _turned(cut: np.ndarray) -> np.ndarray:
    """Return A in the bar frame: f along x, p along y, c along z."""
    rows = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    return np.asarray(rows.T @ cut @ rows)


def test_a_blade_bends_its_edge_into_the_work() -> None:
    """Beam theory: the edge, half the height up, goes in by slope times height, F L^2 / (2 E I) h / 2.

    The seat gives too and shear does not count: theory alone is the least of it.
    """
    setup = parse_setup(setups.BLADE).setup
    case = cut_case(setup)
    found = dig_in_of(setup, case)
    assert found is not None
    assert found.above == pytest.approx(6e-3)
    modulus = setup.materials["bar"].youngs_modulus.likely
    slope = case.force.c * 0.02**2 / (2 * modulus * 0.002 * 0.012**3 / 12)
    assert 1.0 < found.pulled / (slope * 6e-3) < 4.0
    assert 1.0 < found.factor < 50.0
    # A softer seat pulls in more, a longer blade too; on the axis nothing turns it in.
    longer = parse_setup(setups.BLADE, changes=["bar.overhang=40"]).setup
    worse = dig_in_of(longer, cut_case(longer))
    assert worse is not None
    assert worse.factor < found.factor
    level = replace(setup, edge=replace(setup.edge, offset_z_mm=1e-9))
    flat = dig_in_of(level, case)
    assert flat is not None
    assert flat.factor > 1e3
    turning = replace(case, cut=replace(case.cut, operation="turning"))
    assert dig_in_of(setup, turning) is None


def test_a_rear_blade_upside_down_digs_in_alike() -> None:
    """Symmetry: tool and force both turned over; what differs at the rear post is the post."""
    rear = parse_setup(setups.BLADE, changes=["cut.rear_tool=true"]).setup
    front = parse_setup(setups.BLADE).setup
    found = [dig_in_of(one, cut_case(one)) for one in (front, rear)]
    assert all(one is not None for one in found)
    first, second = (one for one in found if one is not None)
    assert second.factor == pytest.approx(first.factor, rel=1e-6)
    assert second.pulled == pytest.approx(first.pulled, rel=1e-6)
