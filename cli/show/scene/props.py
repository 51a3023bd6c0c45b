"""Bodies with outlines, for what stands round a bar: prisms, boxes, pins, rings. Numpy only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.solids import Solid, flat_solid, join
from stickout.cli.show.scene.surface import unit_vectors
from stickout.meshes.tagged import FloatArray, IntArray

_SIDES = 48


@dataclass(frozen=True)
class Prop:
    """A drawn part: its body, and the edges of it that the viewer sees [m], shape (n, 2, 3)."""

    solid: Solid
    outline: FloatArray


def prism(polygon: FloatArray, along: FloatArray, *, colour: str, toward: FloatArray) -> Prop:
    """Return a prism over a plane convex polygon.

    Parameters
    ----------
    polygon
        Corners in order [m], shape (n, 3).
    along
        From the polygon to the opposite face [m], shape (3,).
    colour
        Key of ``scene.COLOURS``.
    toward
        Unit vector to the viewer, shape (3,): edges of faces that look away are left out.
    """
    area = np.cross(polygon - polygon[0], np.roll(polygon, -1, axis=0) - polygon[0]).sum(axis=0)
    if area @ along > 0:  # counter-clockwise from outside, seen from the side away from ``along``
        polygon = polygon[::-1]
    far = polygon + along
    after, beyond = np.roll(polygon, -1, axis=0), np.roll(far, -1, axis=0)
    sides = np.stack([after, polygon, far, beyond], axis=1)
    caps = [*_fan(polygon), *_fan(far[::-1])]
    body = flat_solid(np.concatenate([sides, caps]), colour)
    return Prop(body, sharp_outline(body, toward))


def box(low: FloatArray, high: FloatArray, *, colour: str, toward: FloatArray) -> Prop:
    """Return a box from its low and high corner [m]."""
    x, y, z = np.array([low, high]).T
    floor = np.array([[x[0], y[0], z[0]], [x[1], y[0], z[0]], [x[1], y[1], z[0]], [x[0], y[1], z[0]]])
    return prism(floor, np.array([0.0, 0.0, z[1] - z[0]]), colour=colour, toward=toward)


def pin(start: FloatArray, end: FloatArray, *, radius: float, colour: str, toward: FloatArray) -> Prop:
    """Return a round pin from ``start`` to ``end`` [m], shaded smooth, its two sides and rims outlined."""
    return revolved(np.array([start, end]), np.array([radius, radius]), colour=colour, toward=toward)


def revolved(
    path: FloatArray, radii: FloatArray, *, colour: str, toward: FloatArray, closed: bool = True
) -> Prop:
    """Return a body of revolution on a straight axis.

    Parameters
    ----------
    path
        Places on the axis [m], shape (n, 3).
    radii
        Radius at each [m], shape (n,).
    colour
        Key of ``scene.COLOURS``.
    toward
        Unit vector to the viewer, shape (3,).
    closed
        Whether flat ends close it; a tube's path runs out and back.
    """
    axis = unit_vectors(path[-1] - path[0])
    one = unit_vectors(np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))]))
    turn = 2 * np.pi * np.arange(_SIDES) / _SIDES
    spoke = np.outer(np.cos(turn), one) + np.outer(np.sin(turn), np.cross(axis, one))
    rings = path[:, None] + radii[:, None, None] * spoke
    body = join([_band(rings[part], spoke, axis, colour) for part in _straight(path @ axis, radii, closed)])
    if closed:
        body = join([body, flat_solid(np.array([*_fan(rings[0][::-1]), *_fan(rings[-1])]), colour)])
    return Prop(body, _round_outline(path, radii, rings, axis=axis, toward=toward))


def _straight(run: FloatArray, radii: FloatArray, closed: bool) -> list[IntArray]:
    """Return the rings of each straight piece of an outline, whose places on the axis and radii are given.

    A tube's path ends beside its start; the way from there back to the start is its near rim.
    """
    rings = np.arange(len(run)) if closed else np.append(np.arange(len(run)), 0)
    ways = unit_vectors(np.stack([np.diff(run[rings]), np.diff(radii[rings])], axis=1))
    bends = np.flatnonzero(np.abs(np.diff(ways, axis=0)).max(axis=1) > 1e-6) + 1
    return [rings[part[0] : part[-1] + 2] for part in np.split(np.arange(len(ways)), bends)]


def _band(rings: FloatArray, spoke: FloatArray, axis: FloatArray, colour: str) -> Solid:
    """Return the skin along one straight piece of an outline, its rings of shape (k, n, 3)."""
    k, n, _ = rings.shape
    at = np.arange(n)
    quads = np.stack([at, np.roll(at, -1), np.roll(at, -1) + n, at + n], axis=1)
    corners = (quads + n * np.arange(k - 1)[:, None, None]).reshape(-1, 4)
    triangles = np.concatenate([corners[:, [0, 1, 2]], corners[:, [0, 2, 3]]])
    # Square to the way along the outline, which is the same at every spoke.
    along, out = (rings[-1, 0] - rings[0, 0]) @ axis, (rings[-1, 0] - rings[0, 0]) @ spoke[0]
    return Solid(
        rings.reshape(-1, 3), np.tile(unit_vectors(along * spoke - out * axis), (k, 1)), triangles, colour
    )


def _round_outline(
    path: FloatArray, radii: FloatArray, rings: FloatArray, *, axis: FloatArray, toward: FloatArray
) -> FloatArray:
    """Return rims and sides of a body of revolution as the viewer sees them, shape (n, 2, 3)."""
    lines = []
    for at, way in ((0, -axis), (-1, axis)):
        spokes = unit_vectors(rings[at] - path[at])
        ring = _ring(rings[at])
        seen = np.ones(len(ring), dtype=bool) if way @ toward > 0 else spokes @ toward > 0
        lines.append(ring[seen])
    across = np.cross(axis, toward)
    if np.linalg.norm(across) > 1e-6:
        for way in (unit_vectors(across), -unit_vectors(across)):
            side = path + radii[:, None] * way
            lines.append(np.stack([side[:-1], side[1:]], axis=1))
    return np.concatenate(lines)


def clipped(polygon: FloatArray, *, through: FloatArray, normal: FloatArray) -> FloatArray:
    """Return the part of a plane convex polygon (n, 2) on the side of a line that ``normal`` points to."""
    height = (polygon - through) @ normal
    kept = []
    for at in range(len(polygon)):
        here, before = height[at], height[at - 1]
        if here * before < 0:
            share = before / (before - here)
            kept.append(polygon[at - 1] + share * (polygon[at] - polygon[at - 1]))
        if here >= 0:
            kept.append(polygon[at])
    return np.array(kept).reshape(-1, 2)


def _fan(polygon: FloatArray) -> list[FloatArray]:
    """Return a convex polygon (n, 3) as quadrilaterals round its first corner; the last may be a triangle."""
    n = len(polygon)
    return [polygon[[0, at, at + 1, min(at + 2, n - 1)]] for at in range(1, n - 1, 2)]


def _ring(polygon: FloatArray) -> FloatArray:
    """Return the sides of a polygon (n, 3), shape (n, 2, 3)."""
    return np.stack([polygon, np.roll(polygon, -1, axis=0)], axis=1)


def sharp_outline(body: Solid, toward: FloatArray | None) -> FloatArray:
    """Return the edges of a flat-faced body at which its skin turns or ends, shape (n, 2, 3).

    Edges of which both faces look away from the viewer, ``toward`` whom a unit vector (3,) is given, are
    left out; with None all are kept.
    """
    points, same = np.unique(np.round(body.points, 9), axis=0, return_inverse=True)
    corners = same.ravel()[body.triangles]
    corners = corners[np.all(corners != np.roll(corners, 1, axis=1), axis=1)]  # no triangle that is a line
    base = points[corners[:, 0]]
    normal = unit_vectors(np.cross(points[corners[:, 1]] - base, points[corners[:, 2]] - base))
    ends = np.sort(corners[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(corners)), 3)
    order = np.lexsort(ends.T)
    ends, owner = ends[order], owner[order]
    first = np.flatnonzero(np.concatenate([[True], np.any(ends[1:] != ends[:-1], axis=1)]))
    count = np.diff(np.append(first, len(ends)))
    one, two = normal[owner[first]], normal[owner[first + np.minimum(count, 2) - 1]]
    turns = (count != 2) | (np.einsum("ek,ek->e", one, two) < np.cos(np.radians(30.0)))
    if toward is not None:
        turns &= np.maximum(one @ toward, two @ toward) > 0
    lines = points[ends[first]][turns]
    return np.asarray(lines[np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1) > 0])
