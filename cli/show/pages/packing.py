"""The outer skin of a held bar as few vertices and triangles, and arrays as text for a browser.

The vertices are nodes of the mesh: corners of the skin's facets, and middles of those sides that are
curved. So every node quantity is a vertex quantity, and nothing is interpolated.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.surface import OuterSurface, unit_vectors
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray

# Sagitta over chord from which a side is drawn through its middle node: about 24 sides to a circle.
_CURVED = 0.033
# Triangles that meet at a smaller angle share a normal, so that the surface looks smooth there.
_CREASE_DEG = 35.0
# Least part of a normal along an axis from which the skin is said to face that way.
_ASLANT = 0.35


@dataclass(frozen=True)
class Skin:
    """Triangles between nodes of a mesh.

    Attributes
    ----------
    node
        Node of each vertex, shape (n,).
    part
        Index of the region of each vertex, shape (n,).
    normal
        Unit outward normal of each vertex, shape (n, 3).
    triangles
        Vertices of each triangle, counter-clockwise from outside, shape (m, 3).
    """

    node: IntArray
    part: IntArray
    normal: FloatArray
    triangles: IntArray


def skin_of(surface: OuterSurface, points: FloatArray, *, most: int) -> Skin:
    """Return a surface as triangles between nodes, thinned to at most about ``most`` nodes.

    Parameters
    ----------
    surface
        Facets of the outer faces.
    points
        Node positions [m], shape (n_points, 3).
    most
        Number of nodes above which neighbours are melted together.

    Returns
    -------
    Skin
    """
    corners, part = _fans(surface.facets, surface.region, points)
    corners, part = _thinned(corners, part, points, most)
    return _with_normals(corners, part, points)


def curved_sides(facets: IntArray, points: FloatArray) -> BoolArray:
    """Return which sides of each facet are drawn through their middle node, shape (n_facets, 4)."""
    ends = points[facets[:, :4]], points[facets[:, [1, 2, 3, 0]]]
    chord = np.linalg.norm(ends[1] - ends[0], axis=2)
    rise = np.linalg.norm(points[facets[:, 4:]] - (ends[0] + ends[1]) / 2, axis=2)
    return np.asarray(rise > _CURVED * chord)


def _fans(facets: IntArray, region: IntArray, points: FloatArray) -> tuple[IntArray, IntArray]:
    """Return triangles of node numbers (m, 3) and the region of each: a fan on the polygon of each facet."""
    curved = curved_sides(facets, points)
    out, owner = [], []
    for pattern in np.unique(curved, axis=0):
        pick = np.flatnonzero((curved == pattern).all(axis=1))
        # The outline in order: a corner, then the middle of the side after it where that is drawn.
        ring = [at for side in range(4) for at in ((side, 4 + side) if pattern[side] else (side,))]
        start = next((at for at, local in enumerate(ring) if local > 3), 0)
        ring = ring[start:] + ring[:start]
        fan = np.array([[ring[0], ring[at], ring[at + 1]] for at in range(1, len(ring) - 1)])
        out.append(facets[pick][:, fan].reshape(-1, 3))
        owner.append(np.repeat(region[pick], len(fan)))
    return np.concatenate(out), np.concatenate(owner)


def _thinned(corners: IntArray, part: IntArray, points: FloatArray, most: int) -> tuple[IntArray, IntArray]:
    """Return the triangles with neighbouring nodes melted together until at most ``most`` are left."""
    nodes = np.unique(corners)
    size = float(np.ptp(points[nodes], axis=0).max()) / 200
    into = np.arange(len(points))
    facing = _facing(nodes, corners, points)
    while len(np.unique(into[nodes])) > most:
        into[nodes] = nodes[_melted(points[nodes], facing, size)]
        size *= 1.2
    moved = into[corners]
    whole = (moved[:, [0, 1, 2]] != moved[:, [1, 2, 0]]).all(axis=1)
    return moved[whole], part[whole]


def _facing(nodes: IntArray, corners: IntArray, points: FloatArray) -> IntArray:
    """Return which way the skin faces round each node, -1, 0 or 1 along each axis, shape (n_nodes, 3).

    Faces, the edges between them and corners all differ, so none of them melts into another.
    """
    total = np.zeros((len(points), 3))
    unit = unit_vectors(_triangle_normals(corners, points))
    np.add.at(total, corners.ravel(), np.repeat(unit, 3, axis=0))
    mean = unit_vectors(total[nodes])
    return np.asarray(np.sign(mean) * (np.abs(mean) > _ASLANT)).astype(int)


def _melted(points: FloatArray, facing: IntArray, size: float) -> IntArray:
    """Return for each point the index of the one that stands for its box, boxes of twice ``size`` along x."""
    box = np.round(points / np.array([2 * size, size, size])).astype(int)
    _, group = np.unique(np.column_stack([box, facing]), axis=0, return_inverse=True)
    group = group.ravel()
    count = np.bincount(group)
    middle = np.stack([np.bincount(group, one) / count for one in points.T], axis=1)
    order = np.lexsort((np.linalg.norm(points - middle[group], axis=1), group))
    first = order[np.unique(group[order], return_index=True)[1]]
    return np.asarray(first[group])


def _triangle_normals(corners: IntArray, points: FloatArray) -> FloatArray:
    """Return normals as long as twice the triangles' areas, shape (m, 3)."""
    a, b, c = (points[corners[:, at]] for at in range(3))
    return np.cross(b - a, c - a)


def _with_normals(corners: IntArray, part: IntArray, points: FloatArray) -> Skin:
    """Return the skin, a node split into several vertices where the triangles round it turn sharply."""
    large = np.repeat(_triangle_normals(corners, points), 3, axis=0)
    unit = unit_vectors(large)
    key = corners.ravel() * (part.max() + 1) + np.repeat(part, 3)
    order = np.argsort(key, kind="stable")
    _, group, count = np.unique(key[order], return_inverse=True, return_counts=True)
    group = group.ravel()
    place = np.arange(len(order)) - np.repeat(np.cumsum(count) - count, count)
    grid = np.full((len(count), int(count.max())), -1)
    grid[group, place] = order
    label = np.full(grid.shape, -1)
    for round_ in range(grid.shape[1]):
        free = (label < 0) & (grid >= 0)
        some = np.flatnonzero(free.any(axis=1))
        if not len(some):
            break
        seed = unit[grid[some, np.argmax(free[some], axis=1)]]
        near = np.einsum("gkc,gc->gk", unit[grid[some]], seed) >= np.cos(np.radians(_CREASE_DEG)) - 1e-12
        label[some] = np.where(free[some] & near, round_, label[some])
    return _split(corners, part, large, grid=grid, label=label)


def _split(corners: IntArray, part: IntArray, large: FloatArray, *, grid: IntArray, label: IntArray) -> Skin:
    """Return the skin whose vertices are the labelled groups of triangle corners."""
    row, column = np.nonzero(grid >= 0)
    corner = grid[row, column]
    _, vertex = np.unique(row * (label.max() + 1) + label[row, column], return_inverse=True)
    of_corner = np.empty(corners.size, dtype=np.int64)
    of_corner[corner] = vertex.ravel()
    n = int(of_corner.max()) + 1
    normal = np.zeros((n, 3))
    np.add.at(normal, of_corner, large)
    node, region = np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64)
    node[of_corner], region[of_corner] = corners.ravel(), np.repeat(part, 3)
    return Skin(node, region, unit_vectors(normal), of_corner.reshape(-1, 3))


def packed_16(values: FloatArray, full: float) -> str:
    """Return values from ``-full`` to ``full`` as signed 16-bit numbers, little-endian, in base64."""
    scaled = np.round(np.clip(values / full, -1.0, 1.0) * 32767)
    return _text(scaled.astype("<i2").tobytes())


def packed_8(values: FloatArray) -> str:
    """Return values from -1 to 1 as signed 8-bit numbers in base64."""
    return _text(np.round(np.clip(values, -1.0, 1.0) * 127).astype("i1").tobytes())


def packed_bytes(values: FloatArray | IntArray) -> str:
    """Return whole numbers from 0 to 255 in base64."""
    return _text(np.round(np.clip(values, 0, 255)).astype("u1").tobytes())


def packed_index(values: IntArray) -> str:
    """Return whole numbers from 0 to 65535, little-endian, in base64."""
    return _text(values.astype("<u2").tobytes())


def _text(raw: bytes) -> str:
    return base64.b64encode(raw).decode("ascii")
