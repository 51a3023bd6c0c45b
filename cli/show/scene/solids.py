"""Bodies and lines to be drawn, whoever draws them. Numpy only."""

from __future__ import annotations

from dataclasses import dataclass

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
        Line width [pixel of a picture 720 high].
    """

    segments: FloatArray
    colour: str
    width: float


@dataclass(frozen=True)
class Drawn:
    """Bodies and lines that are drawn together; the nearest is seen."""

    solids: tuple[Solid, ...]
    lines: tuple[Strokes, ...]


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
