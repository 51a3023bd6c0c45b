"""Static push, spring passes, centre height, taper."""

from __future__ import annotations

import numpy as np
import pytest
from cut_cases import MM, Y_AXIS

from stickout.fem.force.directions import cut_directions, force_on_tool
from stickout.fem.force.edge_load import local_force
from stickout.fem.force.law import CutForce, force_law
from stickout.fem.force.nose import engaged_edge
from stickout.fem.force.spring_off import (
    centre_angle,
    deflection,
    spring_off,
    spring_passes,
    taper_on_diameter,
    turned_radius,
)
from stickout.fem.setup.work_materials import work_material
from stickout.meshes.errors import InputError

UM = 1e-6


def test_deflection_of_a_bar() -> None:
    """100 N on a steel bar of 16 by 80 mm: 25.263 um, ``F L^3 / 3 E I`` (computed apart from the program)."""
    compliance = 80e-3**3 / (3.0 * 210e9 * np.pi * 16e-3**4 / 64.0)
    static = np.diag([0.0, compliance, compliance])
    moved = deflection(static, np.array([0.0, 0.0, -100.0]))
    assert -moved[2] / UM == pytest.approx(25.263, abs=0.0005)  # half of the last printed digit
    assert moved[1] == 0.0


def test_bore_comes_small() -> None:
    """Principle: the passive force pushes a boring bar off either wall by its compliance times Fp."""
    static = np.diag([1e-9, 2e-7, 3e-7])
    for wall in ("front", "rear"):
        d = cut_directions("boring", wall)
        force = force_on_tool(d, CutForce(c=50.0, f=10.0, p=20.0))
        assert spring_off(static, force, passive=d.passive) == pytest.approx(20.0 * 2e-7, rel=1e-12)


def test_coupled_compliance_counts() -> None:
    """Principle: with a turned weak axis the cutting force moves the edge sideways too."""
    static = np.array([[1e-9, 0.0, 0.0], [0.0, 2e-7, -1e-7], [0.0, -1e-7, 2e-7]])
    d = cut_directions("boring", "front")
    force = force_on_tool(d, CutForce(c=50.0, f=0.0, p=20.0))
    assert spring_off(static, force, passive=Y_AXIS) == pytest.approx(20 * 2e-7 - 50 * 1e-7, rel=1e-9)


def test_spring_passes_of_a_hobby_bar() -> None:
    """0.25 mm set, 0.05 mm spring: 50, 10, 2 um are left (computed apart from the program)."""
    # A push in proportion to depth: 0.05 mm of spring for 0.20 mm truly cut.
    rest = spring_passes(0.25 * MM, lambda depth: 0.25 * depth, passes=3)
    assert rest / UM == pytest.approx([50.0, 10.0, 2.0], rel=1e-6)  # halving, 1e-12


def test_spring_passes_with_a_real_force() -> None:
    """Each pass keeps its balance ``d + C Fp(d) = left``; the second clears a smaller share than the first.

    On a nose the passive force falls more slowly than the depth, so a light pass springs relatively more.
    """
    law, compliance = force_law(work_material("C45")), 0.5e-6

    def push(depth: float) -> float:
        edge = engaged_edge(depth, 0.05 * MM, nose_radius=0.4 * MM, edge_angle_deg=95.0)
        return compliance * local_force(law, edge).p

    rest = spring_passes(0.2 * MM, push, passes=4)
    before = np.append(0.2 * MM, rest[:-1])
    for left, remain in zip(before, rest, strict=True):
        depth = left - remain
        assert depth + push(depth) == pytest.approx(left, rel=1e-6)  # halving, 1e-12
    shares = rest / before
    assert np.all(np.diff(rest) < 0.0)
    assert shares[1] > shares[0]


def test_no_spring_leaves_nothing() -> None:
    """A rigid bar cuts the whole setting at once."""
    assert spring_passes(0.2 * MM, lambda _: 0.0, passes=2) == pytest.approx([0.0, 0.0], abs=1e-15)  # halving


def test_a_push_that_holds_the_edge_out() -> None:
    """Where the lightest touch already takes up the whole setting, nothing is cut."""
    assert spring_passes(0.01 * MM, lambda _: 0.02 * MM, passes=2) == pytest.approx([1e-5, 1e-5], rel=1e-12)


def test_centre_height() -> None:
    """Sinking from above centre makes bore and outside diameter small (Rose; Jones)."""
    radius, sink = 4.0 * MM, 0.1 * MM
    above = turned_radius(radius, 0.5 * MM, drop=sink)
    assert above < radius
    # First order: height times drop over radius; the next term is drop^2 / 2 radius.
    assert radius - above == pytest.approx(0.5 * sink / 4.0, abs=sink**2 / (2.0 * radius))
    assert turned_radius(radius, -0.5 * MM, drop=sink) > radius
    on_centre = turned_radius(radius, 0.0, drop=sink)
    assert on_centre - radius == pytest.approx(sink**2 / (2.0 * radius), rel=1e-3)  # next term 1.6e-4


def test_clearance_lost_below_centre() -> None:
    """0.1 mm below centre in a bore of 8 mm takes 1.43 degrees of clearance (asin(0.1 / 4))."""
    assert np.degrees(centre_angle(4.0 * MM, -0.1 * MM)) == pytest.approx(-1.4325, abs=5e-5)


def test_taper() -> None:
    """Definition: a spring-off that grows from 5 to 12 um leaves 14 um; a steady one leaves none."""
    assert taper_on_diameter([5 * UM, 9 * UM, 12 * UM]) == pytest.approx(14 * UM, rel=1e-12)
    assert taper_on_diameter([5 * UM, 5 * UM]) == 0.0


def test_impossible_settings() -> None:
    """Zero depth, no pass, an edge above the circle and a single station are refused."""
    with pytest.raises(InputError, match="half of the change in diameter"):
        spring_passes(0.0, lambda depth: depth)
    with pytest.raises(InputError, match="Count the first pass"):
        spring_passes(1e-4, lambda depth: depth, passes=0)
    with pytest.raises(InputError, match="less than the radius"):
        turned_radius(4e-3, 4e-3, drop=0.0)
    with pytest.raises(InputError, match="less than the radius"):
        centre_angle(4e-3, -5e-3)
    with pytest.raises(InputError, match="two stations"):
        taper_on_diameter([1e-6])
