"""Volumes, areas and moments of meshes by Gauss points, for the tests; independent of the mesher."""

from __future__ import annotations

import numpy as np

from stickout.meshes.faces import outer_faces
from stickout.meshes.sections import Section
from stickout.meshes.shape import gauss_rule
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh


def volume(mesh: TaggedMesh, cells: IntArray | slice = slice(None)) -> float:
    """Return the volume of some cells [m^3]; 3 points a way are exact for cells swept straight."""
    rule = gauss_rule(3)
    jacobian = np.matmul(rule.gradients, mesh.points[mesh.cells[cells]][:, None])
    return float((np.linalg.det(jacobian) @ rule.weights).sum())


def facing(mesh: TaggedMesh, facets: IntArray) -> FloatArray:
    """Return area times unit normal of each facet [m^2], shape (n_facets, 3)."""
    rule = gauss_rule(2)
    tangents = np.matmul(rule.gradients, mesh.points[facets][:, None])
    normal = np.cross(tangents[:, :, 0], tangents[:, :, 1])
    total: FloatArray = np.einsum("fqi,q->fi", normal, rule.weights)
    return total


def area(mesh: TaggedMesh, facets: IntArray) -> float:
    """Return the area of facets [m^2], curved ones too."""
    rule = gauss_rule(2, 5)
    tangents = np.matmul(rule.gradients, mesh.points[facets][:, None])
    return float(
        (np.linalg.norm(np.cross(tangents[:, :, 0], tangents[:, :, 1]), axis=2) @ rule.weights).sum()
    )


def moments(section: Section, mask: BoolArray | slice = slice(None)) -> tuple[float, float, float, float]:
    """Return area, integral of y^2, of z^2 and of y z over some cells of a section."""
    # y^2 on a curved cell is of degree 4 times a Jacobian of degree 3: 5 points a way.
    rule = gauss_rule(2, 5)
    corner = section.points[section.cells[mask]]
    weight = np.linalg.det(np.matmul(rule.gradients, corner[:, None])) * rule.weights
    y, z = np.moveaxis(rule.values @ corner, 2, 0)
    return tuple(float((weight * f).sum()) for f in (np.ones_like(y), y**2, z**2, y * z))  # type: ignore[return-value]


def skin(mesh: TaggedMesh) -> float:
    """Return the area of all faces that belong to one cell only [m^2].

    A node that hangs, or cells that touch without sharing a face, leave inner faces open on both sides;
    the area is then greater than that of the solid.
    """
    return area(mesh, outer_faces(mesh.cells))


def areas(section: Section) -> FloatArray:
    """Return the exact area [m^2] of each cell with its quadratic edges, shape (n_cells,)."""
    corner = section.points[section.cells[:, :4]]
    middle = section.points[section.cells[:, 4:]]
    following = np.roll(corner, -1, axis=1)
    chord = following - corner
    bow = middle - (corner + following) / 2
    straight = corner[..., 0] * following[..., 1] - corner[..., 1] * following[..., 0]
    bowed = bow[..., 0] * chord[..., 1] - bow[..., 1] * chord[..., 0]
    total: FloatArray = (straight / 2 + 2 / 3 * bowed).sum(axis=1)
    return total
