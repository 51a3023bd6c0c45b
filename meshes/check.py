"""The one public check of a tagged mesh, and how good its cells are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.faces import face_counts, face_keys
from stickout.meshes.shape import HEX20, gauss_rule, serendipity
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

# Cells whose Jacobians are formed at once: 2048 cells take 5 MB.
_CHUNK = 2048
# How far the two sides of a joint may gape, over the size of the mesh: rounding of positions.
_GAP = 1e-9


@dataclass(frozen=True)
class MeshQuality:
    """How good the cells of a mesh are, and how many there are.

    Attributes
    ----------
    worst_ratio
        The smallest ratio, over the cells, of the least to the greatest Jacobian determinant at a
        cell's 27 Gauss points and 8 corners [-]: 1 for a box, 0 or less for a cell that is folded.
    worst_cell
        The cell that has it.
    cells, nodes
        How many there are.
    """

    worst_ratio: float
    worst_cell: int
    cells: int
    nodes: int


def mesh_quality(mesh: TaggedMesh) -> MeshQuality:
    """Return the worst cell shape and the size of a mesh.

    Parameters
    ----------
    mesh
        The mesh; its node numbers must be in range.

    Returns
    -------
    MeshQuality
        See there; computed in runs of cells, so that memory stays small.

    Source
    ------
    Ratio of Jacobian determinants as a measure of distortion: common practice, no source.
    """
    low, high = (np.concatenate(part) for part in zip(*_determinants(mesh), strict=True))
    # The greatest of a cell that is inside out throughout is negative; its ratio must not come out good.
    ratio = low / np.maximum(np.abs(high), np.abs(low))
    worst = int(np.argmin(ratio))
    return MeshQuality(float(ratio[worst]), worst, len(mesh.cells), len(mesh.points))


def _determinants(mesh: TaggedMesh) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Yield the least and the greatest Jacobian determinant [m^3] of runs of cells."""
    gradients = np.concatenate([gauss_rule(3).gradients, serendipity(HEX20, HEX20[:8])[1]])
    for start in range(0, len(mesh.cells), _CHUNK):
        corner = mesh.points[mesh.cells[start : start + _CHUNK]]
        volume = np.linalg.det(np.matmul(gradients, corner[:, None]))
        yield volume.min(axis=1), volume.max(axis=1)


def check_mesh(mesh: TaggedMesh) -> None:
    """Check that a mesh is one the solver can take; called by the mesher and the reader.

    Parameters
    ----------
    mesh
        The mesh.

    Raises
    ------
    InputError
        An array has a wrong shape or a number that is not finite; a node number is out of range or a
        node belongs to no cell; a cell is in no region or in several; a facet of a patch or joint is
        not an outer face, or is given twice; the two sides of a joint gape; the patch ``end`` is
        missing; a face is shared by more than two cells; a cell is inside out. The text says what was
        expected.
    """
    _check_arrays(mesh)
    _check_numbers(mesh)
    _check_regions(mesh)
    _check_patches(mesh)
    quality = mesh_quality(mesh)
    if not quality.worst_ratio > 0:
        raise InputError(
            key="mesh.cells",
            given=f"cell {quality.worst_cell} with a Jacobian ratio of {quality.worst_ratio:.2g}",
            allowed="cells with a positive Jacobian at every Gauss point and corner",
            mend="Give the 20 nodes in VTK order (8 corners, then 12 edge middles), the cell not folded.",
        )  # fmt: skip


def _check_arrays(mesh: TaggedMesh) -> None:
    n = len(mesh.cells)
    wanted = {
        "points": (mesh.points, (len(mesh.points), 3)),
        "cells": (mesh.cells, (n, 20)),
        "edge": (mesh.edge, (3,)),
        "family": (mesh.family, (n,)),
        **{f"patches.{name}": (facets, (len(facets), 8)) for name, facets in mesh.patches.items()},
        **{f"joints.{name}": (facets, (len(facets), 16)) for name, facets in mesh.joints.items()},
        **{f"regions.{name}": (cells, (len(cells),)) for name, cells in mesh.regions.items()},
    }
    for key, (array, shape) in wanted.items():
        if array.shape != shape or array.size == 0:
            raise InputError(
                key=f"mesh.{key}", given=f"an array of shape {array.shape}",
                allowed=f"of shape {shape}, not empty",
                mend="See TaggedMesh for what each array holds.",
            )  # fmt: skip
        if not np.all(np.isfinite(array)):
            bad = np.argwhere(~np.isfinite(array))[0].tolist()
            raise InputError(
                key=f"mesh.{key}", given=f"{array[tuple(bad)]} at {bad}", allowed="finite numbers throughout",
                mend="Look where that number comes from.",
            )  # fmt: skip


def _check_numbers(mesh: TaggedMesh) -> None:
    n = len(mesh.points)
    named = {f"patches.{k}": v for k, v in mesh.patches.items()}
    named |= {f"joints.{k}": v for k, v in mesh.joints.items()}
    for key, nodes in {"cells": mesh.cells, **named}.items():
        if nodes.min() < 0 or nodes.max() >= n:
            worst = int(nodes.min() if nodes.min() < 0 else nodes.max())
            raise InputError(
                key=f"mesh.{key}", given=f"node {worst}", allowed=f"node numbers from 0 to {n - 1}",
                mend="Count nodes from 0, in the order of the points.",
            )  # fmt: skip
    used = np.zeros(n, dtype=bool)
    used[mesh.cells] = True
    if not used.all():
        raise InputError(
            key="mesh.points", given=f"node {int(np.argmin(used))}, in no cell",
            allowed="nodes that belong to at least one cell", mend="Leave out nodes that no cell uses.",
        )  # fmt: skip


def _check_regions(mesh: TaggedMesh) -> None:
    n = len(mesh.cells)
    for name, cells in mesh.regions.items():
        if cells.min() < 0 or cells.max() >= n:
            raise InputError(
                key=f"mesh.regions.{name}", given=f"cells {int(cells.min())} to {int(cells.max())}",
                allowed=f"cell numbers from 0 to {n - 1}",
                mend="Count cells from 0, in the order of mesh.cells.",
            )  # fmt: skip
    named = [np.asarray(cells) for cells in mesh.regions.values()]
    count = np.bincount(np.concatenate([np.empty(0, dtype=np.int64), *named]), minlength=n)
    if np.any(count != 1):
        cell = int(np.argmax(count != 1))
        raise InputError(
            key="mesh.regions", given=f"cell {cell} in {int(count[cell])} of {sorted(mesh.regions)}",
            allowed="regions that hold every cell exactly once", mend="Put each cell in one region.",
        )  # fmt: skip


def _check_patches(mesh: TaggedMesh) -> None:
    if "end" not in mesh.patches:
        raise InputError(
            key="mesh.patches", given=sorted(mesh.patches), allowed="patches among which there is 'end'",
            mend="Name the facets of the free end face 'end'; the cutting edge rides on them.",
        )  # fmt: skip
    faces, count = face_counts(mesh.cells)
    if count.max() > 2:
        raise InputError(
            key="mesh.cells",
            given=f"face {faces[int(np.argmax(count))].tolist()} in {int(count.max())} cells",
            allowed="faces shared by at most two cells", mend="Leave out cells that are given twice.",
        )  # fmt: skip
    outside = np.sort(face_keys(faces[count == 1]))
    for name, facets in mesh.patches.items():
        _check_facets(f"patches.{name}", facets, outside)
    for name, both in mesh.joints.items():
        _check_facets(f"joints.{name}", np.vstack([both[:, :8], both[:, 8:]]), outside)
        gap = np.abs(mesh.points[both[:, :8]] - mesh.points[both[:, 8:]]).max()
        if gap > _GAP * np.ptp(mesh.points):
            raise InputError(
                key=f"mesh.joints.{name}", given=f"facets {gap:.2g} m apart",
                allowed="facets at the same place",
                mend="Give the nodes of the second body in the order of the first.",
            )  # fmt: skip


def _check_facets(name: str, facets: IntArray, outside: IntArray) -> None:
    """Check that each facet is among the outer faces, given by their sorted keys, and there once."""
    keys = face_keys(facets.astype(np.int64))
    place = np.minimum(np.searchsorted(outside, keys), len(outside) - 1)
    fault = outside[place] != keys
    what = "which is no outer face of a cell"
    if not fault.any():
        first = np.unique(keys, return_index=True)[1]
        fault = ~np.isin(np.arange(len(keys)), first)
        what = "given twice"
    if fault.any():
        raise InputError(
            key=f"mesh.{name}", given=f"facet {facets[int(np.argmax(fault))].tolist()}, {what}",
            allowed="outer faces of cells (8 nodes: 4 corners, 4 edge middles), each once",
            mend="Take the facets from stickout.meshes.faces.outer_faces.",
        )  # fmt: skip
