"""Where the cut's directions point in the bar frame, and which way the tool is pushed."""

from __future__ import annotations

import numpy as np
import pytest
from cut_cases import X_AXIS, Y_AXIS, Z_AXIS, FloatArray
from force_references import straight_matrix, surface_normal
from values import assert_close, check_value

from stickout.fem.force.directions import cut_directions, force_on_tool, matrix_in_bar_frame
from stickout.fem.force.law import CutForce
from stickout.meshes.errors import InputError

UNIT = CutForce(c=1.0, f=0.35, p=0.45)


@pytest.mark.parametrize(
    ("operation", "side", "rear", "passive", "feed", "work_moves"),
    [
        # Definition: behind a front tool, looking at the work, +y is on the left, at the headstock.
        ("turning", None, False, X_AXIS, Y_AXIS, -Z_AXIS),
        ("turning", "headstock", False, X_AXIS, Y_AXIS, -Z_AXIS),
        ("turning", "tailstock", False, X_AXIS, -Y_AXIS, -Z_AXIS),
        ("turning", "headstock", True, X_AXIS, -Y_AXIS, Z_AXIS),
        ("turning", "tailstock", True, X_AXIS, Y_AXIS, Z_AXIS),
        ("boring", "front", False, Y_AXIS, X_AXIS, -Z_AXIS),
        ("boring", "rear", False, -Y_AXIS, X_AXIS, Z_AXIS),
        ("facing", "left", False, -Y_AXIS, X_AXIS, -Z_AXIS),
        ("facing", "right", False, Y_AXIS, X_AXIS, -Z_AXIS),
        ("parting", None, False, Y_AXIS, X_AXIS, -Z_AXIS),
        ("parting", None, True, Y_AXIS, X_AXIS, Z_AXIS),
    ],
)
def test_table_of_directions(
    operation: str,
    side: str | None,
    rear: bool,
    passive: FloatArray,
    feed: FloatArray,
    work_moves: FloatArray,
) -> None:
    """Definition of the directions: p into the work, f the tool's feed, the work's motion past the edge."""
    found = cut_directions(operation, side, rear_tool=rear)
    assert np.array_equal(found.passive, passive)
    assert np.array_equal(found.feed, feed)
    force = force_on_tool(found, CutForce(c=10.0, f=3.0, p=4.0))
    # The tool is pushed along the work's motion, against the feed, and out of the work.
    assert force @ work_moves == pytest.approx(10.0, rel=1e-12)
    assert force @ feed == pytest.approx(-3.0, rel=1e-12)
    assert force @ passive == pytest.approx(-4.0, rel=1e-12)
    assert found.rotation @ found.rotation.T == pytest.approx(np.eye(3), abs=1e-15)


def test_usual_sides() -> None:
    """Without a side: feed to the headstock, front wall."""
    assert np.array_equal(cut_directions("turning").feed, Y_AXIS)
    assert np.array_equal(cut_directions("boring").passive, Y_AXIS)


def test_force_direction() -> None:
    """Angle of the force from the passive axis, and its share along the cutting axis [b.force]."""
    given = check_value("b.force.angle_cp").inputs
    d = cut_directions("boring", "front")
    in_plane = force_on_tool(d, CutForce(c=given["Fc"], f=0.0, p=given["Fp"]))
    assert_close(
        "b.force.angle_cp", float(np.degrees(np.arctan2(-in_plane @ d.cutting, -in_plane @ d.passive)))
    )
    given = check_value("b.force.cos_c").inputs
    force = force_on_tool(d, CutForce(c=given["Fc"], f=given["Ff"], p=given["Fp"]))
    assert_close("b.force.cos_c", float(-force @ d.cutting / np.linalg.norm(force)))


def test_surface_normal() -> None:
    """Definition: n = p cos(kappa) + f sin(kappa), into the work."""
    d = cut_directions("turning", "tailstock")
    assert surface_normal(d, 90.0) == pytest.approx(-Y_AXIS, abs=1e-15)
    assert surface_normal(d, 30.0) == pytest.approx([np.sqrt(3.0) / 2.0, -0.5, 0.0], abs=1e-15)


def test_matrix_turned_to_the_bar_frame() -> None:
    """Principle: motion into the work raises the force back out of it and down, whatever the operation."""
    in_cut = np.array([[4.0, 0.0, 1.0], [7.0, 0.0, 2.0], [1.0, 0.0, 3.0]])
    for operation, side in (("turning", "headstock"), ("boring", "rear"), ("facing", "left")):
        d = cut_directions(operation, side)
        turned = matrix_in_bar_frame(d, in_cut)
        change = -turned @ d.passive
        assert change == pytest.approx(-(4.0 * d.passive + 7.0 * d.cutting + 1.0 * d.feed), rel=1e-12)
        assert turned @ d.cutting == pytest.approx(np.zeros(3), abs=1e-15)


def test_straight_edge_matrix() -> None:
    """A = e n^T: the trace is n.e, and a force of no size is not needed for its direction."""
    d = cut_directions("boring", "front")
    matrix = straight_matrix(d, edge_angle_deg=75.0, force=UNIT)
    n = surface_normal(d, 75.0)
    e = np.array([UNIT.f, UNIT.p, UNIT.c]) / np.linalg.norm([UNIT.f, UNIT.p, UNIT.c])
    assert matrix == pytest.approx(np.outer(e, n), rel=1e-12)
    assert straight_matrix(d, edge_angle_deg=75.0, force=CutForce(c=20.0, f=7.0, p=9.0)) == pytest.approx(
        matrix, rel=1e-12
    )


@pytest.mark.parametrize(
    ("key", "arguments"),
    [
        ("operation", ("milling", None, False)),
        ("side", ("boring", "left", False)),
        ("side", ("turning", "left", False)),
        ("side", ("parting", "left", False)),
        ("rear_tool", ("boring", "front", True)),
    ],
)
def test_impossible_directions(key: str, arguments: tuple[str, str | None, bool]) -> None:
    """Unknown operations and sides are refused with what is allowed."""
    operation, side, rear = arguments
    with pytest.raises(InputError) as caught:
        cut_directions(operation, side, rear_tool=rear)
    assert caught.value.key == key
