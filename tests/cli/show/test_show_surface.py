"""The skin of a mesh: closed forms for its area, volume, edges, and what its weights carry."""

from __future__ import annotations

import numpy as np
import pytest
from show_bars import bar

from stickout.cli.show.scene.surface import (
    along_lines,
    edge_segments,
    feature_edges,
    level_lines,
    outer_surface,
    quad_weights,
)
from stickout.meshes.errors import InputError
from stickout.meshes.tagged import FloatArray

WIDTH, LENGTH = 0.016, 0.08


def corners(surface_points: FloatArray, triangles: np.ndarray) -> FloatArray:
    """Return the corner positions of triangles, shape (n, 3, 3)."""
    return surface_points[triangles]


@pytest.mark.parametrize("subdivision", [1, 2, 3])
def test_area_and_volume_of_a_square_bar(subdivision: int) -> None:
    """Closed form: area 2 w^2 + 4 w L, volume w^2 L; a facet turned inward would spoil the volume."""
    mesh = bar(width=WIDTH, overhang=LENGTH)
    skin = outer_surface(mesh, subdivision=subdivision)
    a, b, c = corners(skin.sample(mesh.points), skin.triangles).transpose(1, 0, 2)
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
    volume = np.einsum("nk,nk->", a, np.cross(b, c)) / 6
    # Flat faces are drawn exactly; what is left is rounding.
    assert area == pytest.approx(2 * WIDTH**2 + 4 * WIDTH * LENGTH, rel=1e-12)
    assert volume == pytest.approx(WIDTH**2 * LENGTH, rel=1e-12)


def test_facets_of_a_grid() -> None:
    """Closed form: a 4 x 4 x 12 grid shows 2 * 16 + 4 * 4 * 12 facets; nothing between bar and grip."""
    assert len(outer_surface(bar()).facets) == 2 * 16 + 4 * 4 * 12
    mesh = bar(gripped=0.05)
    whole = outer_surface(mesh)
    assert len(whole.facets) == 2 * 16 + 4 * 4 * 16
    assert set(whole.region_names) == {"bar", "grip"}
    inside = np.all(mesh.points[whole.facets][:, :, 0] == 0, axis=1)
    assert not inside.any()
    alone = outer_surface(mesh, ["bar"])
    assert np.all(mesh.points[alone.facets][:, :, 0] == 0, axis=1).sum() == 16


def test_each_facet_knows_its_region() -> None:
    """Principle: facets of the grip lie behind the holder face, those of the bar before it."""
    mesh = bar(gripped=0.05)
    skin = outer_surface(mesh)
    x = mesh.points[skin.facets][:, :, 0].mean(axis=1)
    grip = skin.region == skin.region_names.index("grip")
    assert np.all(x[grip] < 0)
    assert np.all(x[~grip] > 0)
    assert len(skin.triangle_region()) == len(skin.triangles)


def test_weights_carry_every_quadratic() -> None:
    """Principle: the 8-node quadrilateral holds 1, x, y, x^2, xy, y^2 exactly (serendipity family)."""
    rng = np.random.default_rng(3)
    xi, eta = rng.uniform(-1, 1, (2, 50))
    nodes = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [0, -1], [1, 0], [0, 1], [-1, 0]])
    for p, q in ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2)):
        at_nodes = nodes[:, 0] ** p * nodes[:, 1] ** q
        # Sums of eight numbers near one: rounding only.
        assert quad_weights(xi, eta) @ at_nodes == pytest.approx(xi**p * eta**q, abs=1e-14)


def test_movements_ride_on_the_same_weights() -> None:
    """Principle: a linear movement of the nodes is the same linear movement of the skin."""
    mesh = bar(round_=True)
    skin = outer_surface(mesh)
    turn = np.array([[0.0, 0.3, -0.1], [-0.3, 0.0, 0.2], [0.1, -0.2, 0.0]])
    moved = skin.sample(mesh.points @ turn)
    assert moved == pytest.approx(skin.sample(mesh.points) @ turn, abs=1e-15)


def test_a_round_bar_looks_round() -> None:
    """Closed form: the skin lies on the circle, and its normals along the radius."""
    mesh = bar(width=WIDTH, round_=True)
    skin = outer_surface(mesh, subdivision=4)
    points, normals = skin.sample(mesh.points), skin.normals(mesh.points)
    side = np.abs(normals[:, 0]) < 0.5
    radius = np.linalg.norm(points[side, 1:], axis=1)
    # Sixteen parabolas over 20 to 25 degrees, their middle nodes up to a degree off the middle of the arc:
    # 1.2e-3 inside the circle at most; straight pieces would be 2e-2.
    assert radius == pytest.approx(WIDTH / 2, rel=1.3e-3)
    outward = np.einsum("nk,nk->n", normals[side, 1:], points[side, 1:]) / radius
    # A slope error of a parabola on such an arc stays below two degrees.
    assert outward.min() > np.cos(np.radians(2.0))


def test_sharp_edges_of_a_square_bar() -> None:
    """Closed form: twelve edges of length 8 w + 4 L; with a gripped part also the ring at x = 0."""
    mesh = bar(width=WIDTH, overhang=LENGTH)
    assert edges_length(mesh) == pytest.approx(8 * WIDTH + 4 * LENGTH, rel=1e-12)
    mesh = bar(width=WIDTH, overhang=LENGTH, gripped=0.05)
    assert edges_length(mesh) == pytest.approx(12 * WIDTH + 4 * (LENGTH + 0.05), rel=1e-12)


def test_sharp_edges_of_a_round_bar() -> None:
    """Closed form: only the two end circles."""
    mesh = bar(width=WIDTH, overhang=LENGTH, round_=True)
    # Straight pieces of a parabola on an arc: 2e-3 short at most.
    assert edges_length(mesh) == pytest.approx(2 * np.pi * WIDTH, rel=2e-3)


def edges_length(mesh: object) -> float:
    """Return the length of all sharp edges [m]."""
    nodes, normals = feature_edges(outer_surface(mesh), mesh.points)  # type: ignore[arg-type,attr-defined]
    assert normals.shape == (len(nodes), 2, 3)
    pieces = edge_segments(nodes, mesh.points)  # type: ignore[attr-defined]
    return float(np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).sum())


def test_level_lines_of_a_plane_cut() -> None:
    """Closed form: the plane y = c cuts a closed ring of length 2 L + 2 w from a square bar's skin."""
    mesh = bar(width=WIDTH, overhang=LENGTH)
    skin = outer_surface(mesh)
    points = skin.sample(mesh.points)
    cut = level_lines(skin.triangles, points[:, 1] - 0.1 * WIDTH)
    pieces = along_lines(cut, points)
    assert pieces[:, :, 1] == pytest.approx(0.1 * WIDTH, abs=1e-15)
    assert np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).sum() == pytest.approx(
        2 * (LENGTH + WIDTH), rel=1e-12
    )


def test_bad_input() -> None:
    """Errors: an unknown region and a subdivision of nought."""
    with pytest.raises(InputError) as caught:
        outer_surface(bar(), ["shimm"])
    assert (caught.value.key, caught.value.given) == ("regions", "shimm")
    with pytest.raises(InputError) as caught:
        outer_surface(bar(), subdivision=0)
    assert caught.value.key == "subdivision"
