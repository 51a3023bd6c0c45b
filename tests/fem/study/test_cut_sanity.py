"""A cut that bar or motor cannot take is told before any answer on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cutting_cases import ROUND, TURN

from stickout.fem.force.case import case_of
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.study.cut_sanity import MEDIUM_MOTOR, cut_warnings

SETUP = replace(ROUND, cut=TURN)


def warned(setup: Setup, spring: float) -> list[str]:
    """Return the warnings with an edge that springs alike every way [m/N]."""
    return list(cut_warnings(setup, spring * np.eye(3)))


def test_an_edge_pushed_back_by_more_than_the_depth() -> None:
    """Statics: passive force times spring against the depth, a per cent to either side."""
    assert SETUP.cut is not None
    case = case_of(SETUP.cut)
    enough = case.depth / case.force.p
    assert warned(SETUP, 0.99 * enough) == []
    [warning] = warned(SETUP, 1.01 * enough)
    assert "more than its depth of 500 µm" in warning
    inch = replace(SETUP, units="inch")
    assert "its depth of 20 thou" in warned(inch, 1.01 * enough)[0]


@pytest.mark.parametrize("side", [0.99, 1.01])
def test_power_is_force_times_speed(side: float) -> None:
    """Definition: cutting force times surface speed against what a medium lathe's motor gives."""
    cut = replace(TURN, depth_mm=3.0, feed_mm=0.3, work_diameter_mm=100.0)
    force = case_of(cut).force.c
    fastest = side * 60 * MEDIUM_MOTOR / (np.pi * 0.1 * force)
    found = warned(replace(SETUP, cut=replace(cut, speeds_rpm=(100.0, fastest))), 1e-12)
    assert len(found) == (side > 1)
    assert all(f"At {fastest:.0f} rpm this cut takes 4 kW" in one for one in found)


@pytest.mark.parametrize("cut", [None, Cut(operation="turning"), replace(TURN, work_material=None)])
def test_nothing_is_said_of_a_cut_that_is_not_described(cut: Cut | None) -> None:
    """Without a force in newtons neither can be told."""
    assert warned(replace(SETUP, cut=cut), 1.0) == []
