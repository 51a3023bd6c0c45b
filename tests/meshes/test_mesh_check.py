"""The public check of a mesh: what it lets through, what it refuses and what it says; the quality figure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from solids import box

from stickout.meshes.check import check_mesh, mesh_quality
from stickout.meshes.errors import InputError
from stickout.meshes.faces import face_counts, outer_faces
from stickout.meshes.tagged import TaggedMesh

SIDES = (0.04, 0.02, 0.03)
GOOD = box((2, 2, 1), SIDES)


def changed(array: np.ndarray, place: Any, value: float) -> np.ndarray:
    """Return a copy of an array with one entry changed."""
    copy = array.copy()
    copy[place] = value
    return copy


def inside_out() -> TaggedMesh:
    """Return the mesh with the first cell's bottom and top exchanged."""
    turn = [4, 5, 6, 7, 0, 1, 2, 3, 12, 13, 14, 15, 8, 9, 10, 11, 16, 17, 18, 19]
    cells = GOOD.cells.copy()
    cells[0] = cells[0, turn]
    return replace(GOOD, cells=cells)


def folded() -> TaggedMesh:
    """Return the mesh with a corner pushed to the far end of its edge."""
    one, other = GOOD.cells[0, :2]
    return replace(GOOD, points=changed(GOOD.points, (one, 0), GOOD.points[other, 0]))


def inner_facet() -> TaggedMesh:
    """Return the mesh with a patch on a face between two cells."""
    faces, count = face_counts(GOOD.cells)
    return replace(GOOD, patches={**GOOD.patches, "bed": faces[count == 2][:1]})


def joint(shift: int) -> TaggedMesh:
    """Return the mesh with a joint of two faces that are not at the same place."""
    faces = outer_faces(GOOD.cells)
    return replace(GOOD, joints={"seat": np.hstack([faces[:1], faces[shift : shift + 1]])})


FAULTS: dict[str, tuple[Callable[[], TaggedMesh], str, str]] = {
    "points of two columns": (lambda: replace(GOOD, points=GOOD.points[:, :2]), "mesh.points", "shape"),
    "cells of 8 nodes": (lambda: replace(GOOD, cells=GOOD.cells[:, :8]), "mesh.cells", "shape"),
    "no cells": (
        lambda: replace(GOOD, cells=GOOD.cells[:0], family=GOOD.family[:0]), "mesh.cells", "not empty",
    ),
    "edge not finite": (
        lambda: replace(GOOD, edge=np.array([np.nan, 0, 0])), "mesh.edge", "finite",
    ),
    "point not finite": (
        lambda: replace(GOOD, points=changed(GOOD.points, (3, 1), np.inf)), "mesh.points", "finite",
    ),
    "family too short": (lambda: replace(GOOD, family=GOOD.family[1:]), "mesh.family", "shape (4,)"),
    "node too high": (
        lambda: replace(GOOD, cells=changed(GOOD.cells, (0, 0), len(GOOD.points))), "mesh.cells", "from 0 to",
    ),
    "node below zero": (
        lambda: replace(GOOD, patches={"end": changed(GOOD.patches["end"], (0, 0), -1)}),
        "mesh.patches.end", "from 0 to",
    ),
    "a node no cell uses": (
        lambda: replace(GOOD, points=np.vstack([GOOD.points, [[0, 0, 0]]])),
        "mesh.points", "at least one cell",
    ),
    "cell in no region": (
        lambda: replace(GOOD, regions={"bar": np.arange(3)}), "mesh.regions", "exactly once",
    ),
    "cell in two regions": (
        lambda: replace(GOOD, regions={"bar": np.arange(4), "grip": np.arange(1)}),
        "mesh.regions", "exactly once",
    ),
    "region out of range": (
        lambda: replace(GOOD, regions={"bar": np.arange(1, 5)}), "mesh.regions.bar", "from 0 to 3",
    ),
    "no end": (lambda: replace(GOOD, patches={"root": GOOD.patches["end"]}), "mesh.patches", "'end'"),
    "facet inside": (inner_facet, "mesh.patches.bed", "outer faces"),
    "facet with a wrong middle": (
        lambda: replace(GOOD, patches={"end": changed(GOOD.patches["end"], (0, 4), 0)}),
        "mesh.patches.end", "outer faces",
    ),
    "facet twice": (
        lambda: replace(GOOD, patches={"end": np.repeat(GOOD.patches["end"], 2, axis=0)}),
        "mesh.patches.end", "each once",
    ),
    "joint that gapes": (lambda: joint(3), "mesh.joints.seat", "same place"),
    "cell twice": (
        lambda: replace(
            GOOD, cells=GOOD.cells[[0, 1, 2, 3, 0, 0]], family=np.full(6, -1), regions={"bar": np.arange(6)}
        ),
        "mesh.cells", "at most two",
    ),
    "cell inside out": (inside_out, "mesh.cells", "positive Jacobian"),
    "cell folded at a corner": (folded, "mesh.cells", "positive Jacobian"),
}  # fmt: skip


def test_a_good_mesh_passes_and_is_not_changed() -> None:
    """Nothing raised, and every array as it was."""
    before = [GOOD.points.copy(), GOOD.cells.copy()]
    check_mesh(GOOD)
    assert np.array_equal(GOOD.points, before[0])
    assert np.array_equal(GOOD.cells, before[1])


@pytest.mark.parametrize("name", FAULTS)
def test_each_fault_is_told(name: str) -> None:
    """The error names the array, says what was expected, and how to mend it."""
    make, key, allowed = FAULTS[name]
    with pytest.raises(InputError) as caught:
        check_mesh(make())
    assert caught.value.key == key
    assert allowed in f"{caught.value.allowed} {caught.value.given}"
    assert caught.value.mend.endswith(".")


def test_quality_of_boxes_and_of_a_sheared_cell() -> None:
    """Exact: one for boxes and for parallelepipeds, whose Jacobian is constant."""
    quality = mesh_quality(GOOD)
    assert (quality.cells, quality.nodes) == (4, len(GOOD.points))
    # Rounding of a determinant.
    assert quality.worst_ratio == pytest.approx(1.0, abs=1e-12)
    sheared = replace(GOOD, points=GOOD.points @ np.array([[1.0, 0.4, 0], [0, 1, 0.3], [0, 0, 1]]))
    assert mesh_quality(sheared).worst_ratio == pytest.approx(1.0, abs=1e-12)


def test_quality_of_a_tapered_cell() -> None:
    """Exact: a cell whose one end is half as wide as the other has Jacobians 1 and 2 at its corners."""
    one = box((1, 1, 1), (2.0, 2.0, 2.0))
    points = one.points * np.column_stack(
        [np.ones(len(one.points)), 0.75 - 0.25 * one.points[:, 0], np.ones(len(one.points))]
    )
    assert mesh_quality(replace(one, points=points)).worst_ratio == pytest.approx(0.5, rel=1e-12)


def test_the_worst_cell_is_found_beyond_the_first_run() -> None:
    """More cells than are taken at once, one of them bad, near the end."""
    mesh = box((64, 6, 6), (0.64, 0.06, 0.06))
    assert len(mesh.cells) > 2048
    bad = 2290
    points = mesh.points.copy()
    # A middle node moved along its edge by a third of the edge's half.
    points[mesh.cells[bad, 16]] += (points[mesh.cells[bad, 4]] - points[mesh.cells[bad, 0]]) / 6
    quality = mesh_quality(replace(mesh, points=points))
    near = np.flatnonzero((mesh.cells == mesh.cells[bad, 16]).any(axis=1))
    assert quality.worst_cell in near
    # Along an edge whose middle sits at 2/3 the length element runs from 5/3 to 1/3.
    assert quality.worst_ratio < 0.3


def test_outer_faces_of_a_box() -> None:
    """Exact: 2 (ab + bc + ca) faces, each facing away from the middle."""
    faces = outer_faces(GOOD.cells)
    assert len(faces) == 2 * (2 * 2 + 2 * 1 + 2 * 1)
    corner = GOOD.points[faces[:, :4]]
    normal = np.cross(corner[:, 2] - corner[:, 0], corner[:, 3] - corner[:, 1])
    assert np.all(np.einsum("fi,fi->f", normal, corner.mean(axis=1)) > 0)
    # Middles lie between the corners they follow.
    assert GOOD.points[faces[:, 4:]] == pytest.approx((corner + np.roll(corner, -1, axis=1)) / 2, abs=1e-15)
