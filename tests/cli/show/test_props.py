"""Bodies round a bar: closed, turned outward, lit from the right side."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.cli.show.scene.props import Prop, box, clipped, pin, prism, revolved, sharp_outline
from stickout.cli.show.scene.workpiece import drawn_work
from stickout.fem import Bar, Cut, RigidGrip, Setup

TOWARD = np.array([0.4, -0.8, 0.45])


def volume(prop: Prop) -> float:
    """Return the volume of a body by the divergence theorem; the areas of a closed skin cancel."""
    a, b, c = prop.solid.points[prop.solid.triangles].transpose(1, 0, 2)
    assert np.cross(b - a, c - a).sum(axis=0) == pytest.approx(np.zeros(3), abs=1e-12)
    return float(np.einsum("nk,nk->", a, np.cross(b, c))) / 6


@pytest.mark.parametrize(
    ("prop", "expected"),
    [
        (box(np.zeros(3), np.array([2.0, 3.0, 5.0]), colour="holder", toward=TOWARD), 30.0),
        (pin(np.ones(3), np.array([1.0, 1, 4]), radius=2.0, colour="screw", toward=TOWARD), 12 * np.pi),
        (
            prism(
                np.array([[0, 0, 0], [0, 2.0, 0], [3.0, 0, 0]]),
                np.array([0, 0, -4.0]),
                colour="cutter",
                toward=TOWARD,
            ),
            12.0,
        ),
    ],
)
def test_bodies_are_closed_and_turned_outward(prop: Prop, expected: float) -> None:
    """Closed forms: box, cylinder (48 sides are 0.3 % short) and half a box."""
    assert volume(prop) == pytest.approx(expected, rel=0.004)


def test_a_boring_work_is_closed_and_turned_outward() -> None:
    """Closed form: half a ring of radii 12 and 13.92 mm, 34.4 mm deep; its normals are those of its faces."""
    cut = Cut(operation="boring", edge_angle_deg=95, work_diameter_mm=24)
    setup = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip(), cut=cut)
    work = drawn_work(setup, np.array([0.08, 0.012, 0.0]), toward=TOWARD)
    assert work is not None
    (prop,) = work.props
    assert volume(prop) == pytest.approx(0.5 * np.pi * (0.01392**2 - 0.012**2) * 0.0344, rel=0.004)
    assert_faces_and_normals_agree(prop)


def test_a_tube_is_closed_and_lit_from_inside_as_from_outside() -> None:
    """Closed form: 5 mm of tube, 8 over 6 mm; normals look out of the metal on all four of its faces."""
    along = np.array([0.0, 0.0, 1.0])
    path = np.array([0, 2, 5, 5, 2, 1e-9])[:, None] * along
    tube = revolved(path, np.array([4.0, 4, 4, 3, 3, 3]), colour="work", toward=TOWARD, closed=False)
    assert volume(tube) == pytest.approx(np.pi * (16 - 9) * 5, rel=0.004)
    assert_faces_and_normals_agree(tube)


def assert_faces_and_normals_agree(prop: Prop) -> None:
    """Check that each triangle is wound counter-clockwise as seen from where its corners' normals point."""
    body = prop.solid
    a, b, c = body.points[body.triangles].transpose(1, 0, 2)
    turned = np.cross(b - a, c - a)
    turned, normals = (turned[np.linalg.norm(turned, axis=1) > 0], body.normals[body.triangles])
    assert len(turned) == len(normals)
    assert np.einsum("nk,nak->na", turned, normals).min() > 0


def test_a_box_shows_nine_of_its_edges() -> None:
    """Principle: from a corner three faces are seen, with nine edges; the three behind are hidden."""
    seen = box(np.zeros(3), np.ones(3), colour="holder", toward=TOWARD)
    assert len(np.unique(np.sort(np.round(seen.outline, 9), axis=1).reshape(-1, 6), axis=0)) == 9
    assert len(sharp_outline(seen.solid, TOWARD)) == 9


def test_clipping_keeps_one_side() -> None:
    """Closed form: a unit square cut along its diagonal keeps half."""
    square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    left = clipped(square, through=np.zeros(2), normal=np.array([-1.0, 1.0]))
    x, y = left.T
    assert 0.5 * abs(x @ np.roll(y, 1) - y @ np.roll(x, 1)) == pytest.approx(0.5)
    assert np.all(left[:, 1] >= left[:, 0] - 1e-12)
