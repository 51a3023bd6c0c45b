"""The outer skin of a tagged mesh: facets, smooth triangles on them, sharp edges. Needs numpy only.

Every point of the skin is a fixed weighting of the eight nodes of its facet, so positions, movements
and any other node quantity are carried to the skin by the same weights.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.faces import HEX_FACES
from stickout.meshes.shape import QUAD8
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh


@dataclass(frozen=True)
class OuterSurface:
    """Facets that belong to one cell only, and the triangles drawn on them.

    Attributes
    ----------
    facets
        Nodes of each facet, VTK order of the 8-node quadrilateral, normal outward, shape (n_facets, 8).
    region_names
        Names of the regions drawn.
    region
        Index into ``region_names`` of each facet, shape (n_facets,).
    weights
        Weight of each facet node in each sample of a facet [-], shape (n_samples, 8).
    slopes
        Weights of the two tangents, shape (2, n_samples, 8).
    triangles
        Samples of each triangle, counted over all facets, shape (n_triangles, 3).
    """

    facets: IntArray
    region_names: tuple[str, ...]
    region: IntArray
    weights: FloatArray
    slopes: FloatArray
    triangles: IntArray

    def sample(self, values: FloatArray) -> FloatArray:
        """Return node values (n_points, k) carried to the skin, shape (n_facets * n_samples, k)."""
        return np.asarray(
            np.einsum("sn,fnk->fsk", self.weights, values[self.facets]).reshape(-1, values.shape[1])
        )

    def tangents(self, values: FloatArray) -> FloatArray:
        """Return the two derivatives of node values along each facet, shape (2, n_facets * n_samples, k)."""
        both = np.einsum("tsn,fnk->tfsk", self.slopes, values[self.facets])
        return np.asarray(both.reshape(2, -1, values.shape[1]))

    def normals(self, points: FloatArray) -> FloatArray:
        """Return outward unit normals of the skin through ``points`` [m], shape (n_facets * n_samples, 3)."""
        along, across = self.tangents(points)
        return unit_vectors(np.cross(along, across))

    def triangle_region(self) -> IntArray:
        """Return the index into ``region_names`` of each triangle, shape (n_triangles,)."""
        return np.repeat(self.region, len(self.triangles) // len(self.facets))


def outer_surface(
    mesh: TaggedMesh, regions: Sequence[str] | None = None, *, subdivision: int = 2
) -> OuterSurface:
    """Return the skin of some regions taken together.

    Parameters
    ----------
    mesh
        Mesh of 20-node hexahedra.
    regions
        Names of the regions; None for all. A facet shared by two chosen cells is inside and is dropped.
    subdivision
        Pieces per facet side, 1 or above; 2 makes round bars look round.

    Returns
    -------
    OuterSurface

    Raises
    ------
    InputError
        A region is unknown, or ``subdivision`` is below 1.
    """
    names = tuple(mesh.regions) if regions is None else tuple(regions)
    for name in names:
        if name not in mesh.regions:
            raise InputError(
                key="regions",
                given=name,
                allowed=f"one of {sorted(mesh.regions)}",
                mend="Use a name of the mesh.",
            )
    if subdivision < 1:
        raise InputError(key="subdivision", given=subdivision, allowed="1 or above", mend="Use 2 or 3.")
    chosen = [np.asarray(mesh.regions[name], dtype=np.int64) for name in names]
    owner = np.repeat(np.arange(len(names)), [len(cells) for cells in chosen])
    faces = mesh.cells[np.concatenate(chosen)][:, HEX_FACES].reshape(-1, 8)
    outside = _met_once(faces, len(mesh.points))
    weights, slopes, triangles = _pattern(subdivision)
    facets = faces[outside]
    shifts = len(weights) * np.arange(len(facets))[:, None, None]
    return OuterSurface(
        facets=facets,
        region_names=names,
        region=np.repeat(owner, len(HEX_FACES))[outside],
        weights=weights,
        slopes=slopes,
        triangles=(triangles[None] + shifts).reshape(-1, 3),
    )


def _met_once(faces: IntArray, n_points: int) -> IntArray:
    """Return the indices of the faces that no other face shares its corners with, shape (n_outer,)."""
    # Three corners name a face of a conforming mesh; below 2 million nodes the key fits in 64 bits.
    low = np.sort(faces[:, :4], axis=1)
    key = (low[:, 0] * n_points + low[:, 1]) * n_points + low[:, 2]
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    return np.sort(first[count == 1])


def _pattern(subdivision: int) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return weights (s, 8), tangent weights (2, s, 8) and triangles of one facet cut into squares."""
    line = np.linspace(-1.0, 1.0, subdivision + 1)
    xi, eta = (grid.ravel() for grid in np.meshgrid(line, line))
    weights = quad_weights(xi, eta)
    step = 1e-6
    # The weights are quadratic in each direction, so a central difference is exact up to rounding.
    along = (quad_weights(xi + step, eta) - quad_weights(xi - step, eta)) / (2 * step)
    across = (quad_weights(xi, eta + step) - quad_weights(xi, eta - step)) / (2 * step)
    row, column = (grid.ravel() for grid in np.meshgrid(np.arange(subdivision), np.arange(subdivision)))
    a = row * (subdivision + 1) + column
    b, c, d = a + 1, a + subdivision + 2, a + subdivision + 1
    triangles = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    return weights, np.stack([along, across]), triangles


def unit_vectors(vectors: FloatArray) -> FloatArray:
    """Return vectors (..., 3) with length one; a vector of no length stays so."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.maximum(length, 1e-300))


def quad_weights(xi: FloatArray, eta: FloatArray) -> FloatArray:
    """Return the shape functions of the 8-node quadrilateral, VTK order, shape (n, 8).

    Parameters
    ----------
    xi, eta
        Local coordinates, -1 to 1, shape (n,).

    Returns
    -------
    ndarray

    Source
    ------
    Zienkiewicz and Taylor, The Finite Element Method, serendipity family (recalled, not opened).
    """
    columns = []
    for a, b in QUAD8:
        if a == 0:
            columns.append(0.5 * (1 - xi**2) * (1 + eta * b))
        elif b == 0:
            columns.append(0.5 * (1 + xi * a) * (1 - eta**2))
        else:
            columns.append(0.25 * (1 + xi * a) * (1 + eta * b) * (xi * a + eta * b - 1))
    return np.stack(columns, axis=1)


def feature_edges(
    surface: OuterSurface, points: FloatArray, *, angle_deg: float = 30.0
) -> tuple[IntArray, FloatArray]:
    """Return the edges where the skin turns sharply, ends, or passes to another region.

    Parameters
    ----------
    surface
        The skin.
    points
        Node positions [m], shape (n_points, 3).
    angle_deg
        Least angle between the two normals, in degrees.

    Returns
    -------
    nodes
        Corner, corner and middle node of each edge, shape (n_edges, 3).
    normals
        Unit normals of the two facets that meet there, twice one where it is alone, shape (n_edges, 2, 3).
    """
    normals = _edge_normals(surface.facets, points).reshape(-1, 3)
    corners = np.arange(4)
    ends = np.stack(
        [surface.facets[:, corners], surface.facets[:, (corners + 1) % 4], surface.facets[:, corners + 4]],
        axis=2,
    ).reshape(-1, 3)
    region = np.repeat(surface.region, 4)
    low, high = np.sort(ends[:, :2], axis=1).T
    order = np.argsort(low * len(points) + high, kind="stable")
    key = (low * len(points) + high)[order]
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    one, two = order[first], order[first + np.minimum(count, 2) - 1]
    cosine = np.einsum("ek,ek->e", normals[one], normals[two])
    smooth = (count == 2) & (cosine > np.cos(np.radians(angle_deg))) & (region[one] == region[two])
    return ends[one[~smooth]], np.stack([normals[one], normals[two]], axis=1)[~smooth]


def _edge_normals(facets: IntArray, points: FloatArray) -> FloatArray:
    """Return the unit normal of each facet at the middle of each of its sides, shape (n_facets, 4, 3)."""
    xi, eta = QUAD8[4:].T
    step = 1e-6
    along = (quad_weights(xi + step, eta) - quad_weights(xi - step, eta)) / (2 * step)
    across = (quad_weights(xi, eta + step) - quad_weights(xi, eta - step)) / (2 * step)
    nodes = points[facets]
    normal = np.cross(np.einsum("sn,fnk->fsk", along, nodes), np.einsum("sn,fnk->fsk", across, nodes))
    return unit_vectors(normal)


def edge_segments(edges: IntArray, points: FloatArray, *, pieces: int = 4) -> FloatArray:
    """Return curved edges as straight pieces [m], shape (n_edges * pieces, 2, 3).

    ``edges`` holds corner, corner and middle node, shape (n_edges, 3); ``points`` the node positions.
    """
    t = np.linspace(-1.0, 1.0, pieces + 1)
    weights = np.stack([0.5 * t * (t - 1), 0.5 * t * (t + 1), 1 - t**2], axis=1)
    line = np.einsum("sn,enk->esk", weights, points[edges])
    return np.stack([line[:, :-1], line[:, 1:]], axis=2).reshape(-1, 2, 3)


def level_lines(triangles: IntArray, level: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return where a quantity passes through zero on a set of triangles, one straight piece in each.

    Parameters
    ----------
    triangles
        Samples of each triangle, shape (n_triangles, 3).
    level
        The quantity at each sample, shape (n_samples,).

    Returns
    -------
    pairs
        The two samples each end lies between, shape (n_pieces, 2, 2).
    share
        Weight of the second of the two [-], shape (n_pieces, 2).
    """
    above = level[triangles] > 0
    crossed = triangles[(above.sum(axis=1) % 3) != 0]
    above = level[crossed] > 0
    # Turn each triangle until the corner that stands alone on its side comes first.
    lone = np.argmax(above == (above.sum(axis=1) == 1)[:, None], axis=1)
    turned = np.take_along_axis(crossed, (lone[:, None] + np.arange(3)) % 3, axis=1)
    pairs = np.stack([turned[:, [0, 1]], turned[:, [0, 2]]], axis=1)
    start, stop = level[pairs[..., 0]], level[pairs[..., 1]]
    return pairs, start / (start - stop)


def along_lines(cut: tuple[IntArray, FloatArray], values: FloatArray) -> FloatArray:
    """Return sampled values (n_samples, k) where ``level_lines`` found a ``cut``, shape (n_pieces, 2, k)."""
    pairs, share = cut
    return (1 - share[..., None]) * values[pairs[..., 0]] + share[..., None] * values[pairs[..., 1]]
