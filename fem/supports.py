"""What holds the bar: faces held still, beds of springs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.chain import Ties
from meshes.shape import gauss_rule
from meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh


@dataclass(frozen=True)
class Spring:
    """A layer of springs on a patch: stiffness per area [N/m^3], normal and shear, to the ground."""

    patch: str
    normal: float
    shear: float


def held_nodes(mesh: TaggedMesh, patches: Sequence[str]) -> BoolArray:
    """Return which nodes are held still, shape (n_points,), from the patches that are."""
    held = np.zeros(len(mesh.points), dtype=bool)
    for name in patches:
        held[mesh.patches[name]] = True
    return held


def bed(mesh: TaggedMesh, spring: Spring) -> Ties:
    """Return the stiffness of a layer of springs between a patch and the ground.

    Parameters
    ----------
    mesh
        The mesh.
    spring
        Patch and stiffness per area.

    Returns
    -------
    Ties
        One group of 8 nodes for every facet.
    """
    facets = mesh.patches[spring.patch]
    return Ties(facets, facet_stiffness(mesh.points, facets, normal=spring.normal, shear=spring.shear))


def facet_stiffness(points: FloatArray, facets: IntArray, *, normal: float, shear: float) -> FloatArray:
    """Return the integral of ``N_a N_b (shear I + (normal - shear) n n^T)`` over each facet.

    Parameters
    ----------
    points, facets
        Node positions [m] and the 8 nodes of each facet.
    normal, shear
        Stiffness per area [N/m^3].

    Returns
    -------
    ndarray
        Shape (n_facets, 24, 24) [N/m].
    """
    rule = gauss_rule(2)
    tangents = np.matmul(rule.gradients, points[facets][:, None])
    upright = np.cross(tangents[:, :, 0], tangents[:, :, 1])
    area = np.linalg.norm(upright, axis=2)
    unit = upright / area[:, :, None]
    layer = shear * np.eye(3) + (normal - shear) * unit[:, :, :, None] * unit[:, :, None, :]
    stiffness = np.einsum("fq,qa,qb,fqij->faibj", area * rule.weights, rule.values, rule.values, layer, optimize=True)
    return stiffness.reshape(len(facets), 24, 24)
