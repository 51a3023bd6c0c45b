"""What holds the bar: faces held still, beds of springs, joints; and a layer that is only mass."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from stickout.fem.solid.slab import Ties
from stickout.meshes.shape import QUAD8, Rule, gauss_rule, serendipity
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh


@dataclass(frozen=True)
class Spring:
    """A layer of springs on a patch or in a joint.

    Attributes
    ----------
    patch
        Name of the patch or the joint.
    normal, shear
        Stiffness per area [N/m^3].
    area
        True area [m^2] where the facets of the patch cannot follow it: their stiffness is scaled to it.
    within
        Greatest distance [m] from the middle, y = 0, that is pressed: facets are counted only as far, so
        that what presses is the same on every mesh. None: whole facets.
    """

    patch: str
    normal: float
    shear: float
    area: float | None = None
    within: float | None = None


def held_nodes(mesh: TaggedMesh, patches: Sequence[str]) -> BoolArray:
    """Return which components are held still, shape (n_points, 3): all of the patches named."""
    held = np.zeros((len(mesh.points), 3), dtype=bool)
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
    stiffness, unit = (
        _pressed(mesh.points, facets, spring.within, normal=normal, shear=shear)
        for normal, shear in ((spring.normal, spring.shear), (1.0, 1.0))
    )
    if spring.area is not None:
        # All nodes moved by 1 along the face feel the shear stiffness times the area of the facets.
        stiffness *= spring.area / unit[:, ::3, ::3].sum()
    return Ties(facets, stiffness)


def _pressed(
    points: FloatArray, facets: IntArray, within: float | None, *, normal: float, shear: float
) -> FloatArray:
    """Return the stiffness of facets, counted only up to a distance from y = 0 where one is given."""
    if within is None:
        return facet_stiffness(points, facets, normal=normal, shear=shear)
    # Facets walk across the bar from their first corner to their second.
    start, stop = points[facets[:, :2], 1].T
    ends = np.stack([np.clip(v, -within, within) for v in (start, stop)], axis=1)
    share = np.round((2 * ends - (start + stop)[:, None]) / (stop - start)[:, None], 9)
    out = np.empty((len(facets), 24, 24))
    for low, high in np.unique(share, axis=0):
        mine = (share == (low, high)).all(axis=1)
        rule = _part_of_rule(float(low), float(high))
        out[mine] = facet_stiffness(points, facets[mine], normal=normal, shear=shear, rule=rule)
    return out


def _part_of_rule(low: float, high: float) -> Rule:
    """Return the Gauss points of the part of a facet between two of its lines, -1 to 1."""
    place, weight = np.polynomial.legendre.leggauss(3)
    across = (low + high) / 2 + (high - low) / 2 * place
    s, t = np.meshgrid(across, place, indexing="ij")
    values, gradients = serendipity(QUAD8, np.stack([s.ravel(), t.ravel()], axis=1))
    return Rule(values, gradients, (high - low) / 2 * np.outer(weight, weight).ravel())


def joint(mesh: TaggedMesh, spring: Spring) -> Ties:
    """Return the stiffness of a layer of springs between the two sides of a joint.

    Parameters
    ----------
    mesh
        The mesh; ``spring.patch`` names one of its joints.
    spring
        Joint and stiffness per area.

    Returns
    -------
    Ties
        One group of 16 nodes for every facet; it resists only what the one side moves against the other.
    """
    facets = mesh.joints[spring.patch]
    one = facet_stiffness(mesh.points, facets[:, :8], normal=spring.normal, shear=spring.shear)
    return Ties(facets, np.concatenate([np.concatenate([one, -one], 2), np.concatenate([-one, one], 2)], 1))


def skin_mass(mesh: TaggedMesh, patch: str, *, per_area: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """Return the mass matrix of one displacement component of a layer without stiffness on a patch.

    Parameters
    ----------
    mesh
        The mesh.
    patch
        Where the layer lies.
    per_area
        Mass per area [kg/m^2] at given distances from the bar's axis [m].

    Returns
    -------
    ndarray
        ``integral of m N_a N_b`` over each facet [kg], shape (n_facets, 8, 8).
    """
    facets = mesh.patches[patch]
    rule = gauss_rule(2)
    tangents = np.matmul(rule.gradients, mesh.points[facets][:, None])
    area = np.linalg.norm(np.cross(tangents[:, :, 0], tangents[:, :, 1]), axis=2)
    radius = np.linalg.norm((rule.values @ mesh.points[facets])[:, :, 1:], axis=2)
    weighted = area * rule.weights * per_area(radius)
    mass: FloatArray = np.einsum("fq,qa,qb->fab", weighted, rule.values, rule.values)
    return mass


def facet_stiffness(
    points: FloatArray, facets: IntArray, *, normal: float, shear: float, rule: Rule | None = None
) -> FloatArray:
    """Return the integral of ``N_a N_b (shear I + (normal - shear) n n^T)`` over each facet.

    Parameters
    ----------
    points, facets
        Node positions [m] and the 8 nodes of each facet.
    normal, shear
        Stiffness per area [N/m^3].
    rule
        Points and weights of the part of a facet that counts; the whole facet's when None.

    Returns
    -------
    ndarray
        Shape (n_facets, 24, 24) [N/m].
    """
    rule = rule or gauss_rule(2)
    tangents = np.matmul(rule.gradients, points[facets][:, None])
    upright = np.cross(tangents[:, :, 0], tangents[:, :, 1])
    area = np.linalg.norm(upright, axis=2)
    unit = upright / area[:, :, None]
    layer = shear * np.eye(3) + (normal - shear) * unit[:, :, :, None] * unit[:, :, None, :]
    stiffness: FloatArray = np.einsum(
        "fq,qa,qb,fqij->faibj", area * rule.weights, rule.values, rule.values, layer, optimize=True
    )
    return stiffness.reshape(len(facets), 24, 24)
