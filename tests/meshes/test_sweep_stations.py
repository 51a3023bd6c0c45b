"""Stations along a bar and the sweep of a section along them."""

from __future__ import annotations

import numpy as np
import pytest
from measured import area, facing, skin, volume

from stickout.meshes.faces import face_counts
from stickout.meshes.sections import Section, grid_section
from stickout.meshes.shape import HEX20, QUAD8, gauss_rule, serendipity
from stickout.meshes.sweep import Swept, edge_nodes, outer_edges, side_facets, stations, sweep
from stickout.meshes.tagged import BoolArray, TaggedMesh

SIZES = {"longest": 4.0, "first": 0.5, "ratio": 2.0}


def swept_mesh(section: Section, at: np.ndarray, present: BoolArray) -> tuple[Swept, TaggedMesh]:
    """Return a sweep, and the same as a mesh of one region without patches."""
    swept = sweep(section, at, present=present)
    whole = {"bar": np.arange(len(swept.cells))}
    return swept, TaggedMesh(swept.points, swept.cells, whole, {}, np.zeros(3), swept.section_cell)


@pytest.mark.parametrize("nodes", [HEX20, QUAD8])
def test_shape_functions(nodes: np.ndarray) -> None:
    """Principles: one at the own node and nothing at the others; sum one; gradients by differences."""
    values, _ = serendipity(nodes, nodes)
    assert values == pytest.approx(np.eye(len(nodes)), abs=1e-14)
    inside = np.random.default_rng(3).uniform(-1, 1, (7, nodes.shape[1]))
    values, gradients = serendipity(nodes, inside)
    # Rounding of twenty terms of order one.
    assert values.sum(axis=1) == pytest.approx(np.ones(7), abs=1e-13)
    for axis in range(nodes.shape[1]):
        step = 1e-6 * np.eye(nodes.shape[1])[axis]
        by_difference = (serendipity(nodes, inside + step)[0] - serendipity(nodes, inside - step)[0]) / 2e-6
        # A central difference of polynomials of order one: rounding over the step.
        assert gradients[:, axis] == pytest.approx(by_difference, abs=1e-8)


@pytest.mark.parametrize(("dim", "order"), [(2, 3), (3, 3), (2, 5)])
def test_gauss_weights_fill_the_reference_cell(dim: int, order: int) -> None:
    """Exact: the weights sum to the size of the cell -1..1."""
    assert gauss_rule(dim, order).weights.sum() == pytest.approx(2.0**dim, rel=1e-14)


def test_stations_meet_every_break_and_crowd_at_the_hot_ones() -> None:
    """Principles: breaks are met exactly; hot ones are touched by the first size; growth is bounded."""
    breaks, hot = [-30.0, 0.0, 25.0, 60.0], [0.0, 25.0]
    at = stations(breaks, hot, **SIZES)
    gaps = np.diff(at)
    assert set(breaks) <= set(at.tolist())
    for x in hot:
        place = int(np.flatnonzero(at == x)[0])
        # Rounding of sums of halves.
        assert gaps[place - 1 : place + 1] == pytest.approx([0.5, 0.5], rel=1e-9)
    assert gaps.max() <= SIZES["longest"] * (1 + 1e-9)
    # Where two growing runs meet, what is left over may be a little more than one growth step.
    assert np.maximum(gaps[1:] / gaps[:-1], gaps[:-1] / gaps[1:]).max() <= 2 * SIZES["ratio"]


@pytest.mark.parametrize("length", [0.2, 0.7, 1.3, 2.9, 11.0])
def test_short_spans_stay_whole(length: float) -> None:
    """A span shorter than the layers wanted still starts and ends at its breaks, rising."""
    at = stations([0.0, length], [0.0, length], **SIZES)
    assert at[0] == 0.0
    assert at[-1] == length
    assert np.all(np.diff(at) > 0.1 * length / len(at))


def test_sweep_of_a_grid() -> None:
    """Closed forms: volume, numbers of nodes and cells of a box of 2 x 3 x 2 cells."""
    section = grid_section(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 2.0, 3.0]))
    swept, mesh = swept_mesh(section, np.array([0.0, 0.5, 2.0]), np.ones((2, 6), dtype=bool))
    assert len(mesh.cells) == 12
    # Serendipity lattice: (2a+1)(2b+1)(2c+1) less face and cell centres; for 2 x 3 x 2 cells that is 111:
    # 36 corners and 75 edges (2*4*3 + 3*3*3 + 3*4*2).
    assert len(mesh.points) == 36 + 75
    assert volume(mesh) == pytest.approx(12.0, rel=1e-13)
    # Inner faces by counting: 6 across the middle plane, 2 * 3 and 2 * 4 between the columns.
    count = face_counts(mesh.cells)[1]
    assert np.sum(count == 2) / 2 == 6 + 2 * 3 + 2 * 4
    assert count.max() == 2
    ends = mesh.points[mesh.cells[:, :8]]
    middle = ends[:, [0, 1, 2, 3]] + ends[:, [4, 5, 6, 7]]
    # Nodes 16 to 19 stand on the uprights: halves of sums of exact numbers.
    assert np.array_equal(mesh.points[mesh.cells[:, 16:]], middle / 2)
    assert np.array_equal(swept.layer, np.repeat([0, 1], 6))


def test_a_step_is_conforming() -> None:
    """Principle: where cells are missing in a layer, the others share whole faces; no node hangs."""
    section = grid_section(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 2.0]))
    present = np.array([[True] * 4, [True, False, False, False]])
    _, mesh = swept_mesh(section, np.array([0.0, 1.0, 2.0]), present)
    assert len(mesh.cells) == 5
    # Five cubes of six sides, less two for each inner face.
    assert skin(mesh) == pytest.approx(30.0 - 2 * 5, rel=1e-13)
    # The cell of the thin length sits on one cell of the thick one: 4 + 1 inner faces.
    assert np.sum(face_counts(mesh.cells)[1] == 2) / 2 == 5
    assert volume(mesh) == pytest.approx(5.0, rel=1e-13)


def test_a_hanging_node_would_be_seen() -> None:
    """The measure itself: a face whose middles are not its neighbour's counts as open."""
    section = grid_section(np.array([0.0, 1.0]), np.array([0.0, 1.0]))
    _, mesh = swept_mesh(section, np.array([0.0, 1.0, 2.0]), np.ones((2, 1), dtype=bool))
    assert skin(mesh) == pytest.approx(10.0, rel=1e-13)
    points = np.vstack([mesh.points, mesh.points[mesh.cells[1, 8]]])
    cells = mesh.cells.copy()
    cells[1, 8] = len(mesh.points)
    broken = TaggedMesh(points, cells, mesh.regions, {}, mesh.edge, mesh.family)
    assert skin(broken) == pytest.approx(12.0, rel=1e-13)


def test_side_facets_face_outward_and_cover_the_side() -> None:
    """Closed forms: area of the side of a box, and normals that point away from its middle."""
    section = grid_section(np.array([-1.0, 1.0]), np.array([-2.0, 2.0]))
    at = np.array([0.0, 1.0, 3.0])
    swept, mesh = swept_mesh(section, at, np.ones((2, 1), dtype=bool))
    edges = edge_nodes(section, outer_edges(section, np.array([True])))
    facets = side_facets(swept, edges, rows=np.ones((2, 4), dtype=bool))
    assert len(facets) == 8
    assert area(mesh, facets) == pytest.approx(3 * 12, rel=1e-13)
    outward = np.einsum("fi,fi->f", facing(mesh, facets), mesh.points[facets].mean(axis=1) * [0, 1, 1])
    assert np.all(outward > 0)
