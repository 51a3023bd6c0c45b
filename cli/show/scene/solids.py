"""Small closed bodies made of triangles: arrows, a ball, an extruded profile. Numpy only."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stickout.cli.show.scene.surface import unit_vectors
from stickout.meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class Solid:
    """A body to be drawn.

    Attributes
    ----------
    points
        Corners [m], shape (n, 3).
    normals
        Unit outward normals at the corners, shape (n, 3).
    triangles
        Corners of each triangle, counter-clockwise from outside, shape (m, 3).
    colour
        Key of ``scene.COLOURS``; not used where ``values`` is given.
    values
        Relative movement at each corner, 0 to 1, shape (n,); None for one colour.
    """

    points: FloatArray
    normals: FloatArray
    triangles: IntArray
    colour: str
    values: FloatArray | None = None


@dataclass(frozen=True)
class Strokes:
    """Straight pieces of line to be drawn.

    Attributes
    ----------
    segments
        End points [m], shape (n, 2, 3).
    colour
        Key of ``scene.COLOURS``.
    width
        Line width [pixel of a picture 540 high].
    """

    segments: FloatArray
    colour: str
    width: float


def flat_solid(faces: FloatArray, colour: str) -> Solid:
    """Return a body of flat quadrilaterals, corners counter-clockwise from outside, shape (n, 4, 3)."""
    normal = np.cross(faces[:, 2] - faces[:, 0], faces[:, 3] - faces[:, 1])
    quads = np.arange(4 * len(faces)).reshape(-1, 4)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return Solid(faces.reshape(-1, 3), np.repeat(unit_vectors(normal), 4, axis=0), triangles, colour)


def join(bodies: list[Solid]) -> Solid:
    """Return bodies of one colour as one."""
    shifts = np.cumsum([0] + [len(body.points) for body in bodies[:-1]])
    return Solid(
        np.concatenate([body.points for body in bodies]),
        np.concatenate([body.normals for body in bodies]),
        np.concatenate([body.triangles + shift for body, shift in zip(bodies, shifts, strict=True)]),
        bodies[0].colour,
    )


def moved(body: Solid, shift: FloatArray) -> Solid:
    """Return the body moved by ``shift`` [m], shape (3,)."""
    return Solid(body.points + shift, body.normals, body.triangles, body.colour, body.values)


def lathe_body(path: FloatArray, radii: FloatArray, *, colour: str, sides: int = 20) -> Solid:
    """Return a round body along a path, closed where its radius is zero.

    Parameters
    ----------
    path
        Points of the axis [m], shape (n, 3); equal neighbours make a shoulder.
    radii
        Radius at each [m], shape (n,).
    colour
        Key of ``scene.COLOURS``.
    sides
        Flats around.

    Returns
    -------
    Solid
    """
    rings = [_ring(path, radii, at, sides) for at in range(len(path))]
    faces = []
    for low, high in pairwise(rings):
        faces.append(np.stack([low, np.roll(low, -1, axis=0), np.roll(high, -1, axis=0), high], axis=1))
    return flat_solid(np.concatenate(faces), colour)


def _ring(path: FloatArray, radii: FloatArray, at: int, sides: int) -> FloatArray:
    """Return the corners of one ring around a path, shape (sides, 3)."""
    apart = path - path[at]
    distance = np.linalg.norm(apart, axis=1)
    before = path[: at + 1][distance[: at + 1] > 0]
    after = path[at:][distance[at:] > 0]
    axis = (after[0] if len(after) else path[at]) - (before[-1] if len(before) else path[at])
    axis = axis / np.linalg.norm(axis)
    # Any fixed vector not along the axis starts the ring; the least component is the safest.
    start = np.eye(3)[np.argmin(np.abs(axis))]
    one = np.cross(axis, start)
    one = one / np.linalg.norm(one)
    turn = 2 * np.pi * np.arange(sides) / sides
    ring = np.outer(np.cos(turn), one) + np.outer(np.sin(turn), np.cross(axis, one))
    return np.asarray(path[at] + radii[at] * ring)


def arrow(tail: FloatArray, head: FloatArray, *, thickness: float, colour: str, both: bool = False) -> Solid:
    """Return a straight arrow from tail to head [m], with a head at both ends on request.

    ``thickness`` is the radius of the shaft [m].
    """
    length = float(np.linalg.norm(head - tail))
    tip = min(5.0 * thickness, 0.42 * length)
    if both:
        at = np.array([0.0, tip, tip, length - tip, length - tip, length])
        radii = thickness * np.array([0.0, 2.4, 1.0, 1.0, 2.4, 0.0])
    else:
        at = np.array([0.0, 0.0, length - tip, length - tip, length])
        radii = thickness * np.array([0.0, 1.0, 1.0, 2.4, 0.0])
    return lathe_body(tail + at[:, None] / length * (head - tail), radii, colour=colour)


def twist_arrow(centre: FloatArray, radius: float, *, thickness: float, colour: str) -> Solid:
    """Return a bent arrow with two heads, a part of a circle about x round ``centre`` [m]."""
    turn = np.radians(np.linspace(-10.0, 190.0, 41))
    circle = centre + radius * np.stack([np.zeros(41), -np.cos(turn), np.sin(turn)], axis=1)
    at = np.array([0, 5, 5, *range(6, 35), 35, 35, 40])
    radii = thickness * np.array([0.0, 2.4, *[1.0] * 31, 2.4, 0.0])
    return lathe_body(circle[at], radii, colour=colour)


def ball(centre: FloatArray, radius: float, *, colour: str) -> Solid:
    """Return a ball [m]."""
    turn = np.linspace(0.0, np.pi, 11)
    path = centre + radius * np.cos(turn)[::-1, None] * np.array([1.0, 0.0, 0.0])
    return lathe_body(path, radius * np.sin(turn), colour=colour)
