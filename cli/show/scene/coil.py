"""A loose wrap as it is: wire wound round the bar, by the wire's thickness and pitch."""

from __future__ import annotations

import numpy as np

from stickout.cli.show.scene.props import Prop
from stickout.cli.show.scene.solids import Solid
from stickout.cli.show.scene.surface import unit_vectors
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

_STEPS, _SIDES = 28, 10  # along one turn, and round the wire


def drawn_coil(setup: Setup, sample: FloatArray, *, colour: str) -> Prop | None:
    """Return the wire of a loose wrap at rest; None where the set-up has none.

    Parameters
    ----------
    setup
        The set-up.
    sample
        Points of the bar's skin [m], shape (n, 3).
    colour
        Key of ``scene.COLOURS``.
    """
    wrap, turns = setup.wrap, setup.turns
    if wrap is None or turns is None:
        return None
    wire = (turns.wire_diameter_mm or wrap.thickness_mm) * MM
    pitch = max((turns.pitch_mm or 0.0) * MM, wire)
    start, length = wrap.start_mm * MM, wrap.length_mm * MM
    count = max((length - wire) / pitch, 1.0)
    turn = 2 * np.pi * np.linspace(0.0, count, int(np.ceil(_STEPS * count)) + 1)
    near = sample[(sample[:, 0] > start - 0.1 * length) & (sample[:, 0] < start + 1.1 * length)]
    radius = float(np.hypot(near[:, 1], near[:, 2]).max()) + 0.5 * wire
    spoke = np.stack([np.zeros_like(turn), np.cos(turn), np.sin(turn)], axis=1)
    x = start + 0.5 * wire + pitch * turn / (2 * np.pi)
    path = radius * spoke + np.column_stack([x, 0 * x, 0 * x])
    along = unit_vectors(np.gradient(path, axis=0))
    other = np.cross(along, spoke)
    ring = 2 * np.pi * np.arange(_SIDES) / _SIDES
    normals = np.cos(ring)[None, :, None] * spoke[:, None] + np.sin(ring)[None, :, None] * other[:, None]
    points = path[:, None] + 0.5 * wire * normals
    at = np.arange(len(turn) - 1)[:, None] * _SIDES
    side, after = np.arange(_SIDES), (np.arange(_SIDES) + 1) % _SIDES
    quads = np.stack([at + side, at + side + _SIDES, at + after + _SIDES, at + after], axis=2).reshape(-1, 4)
    corners = points.reshape(-1, 3)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    a, b, c = corners[triangles[0]]
    if np.cross(b - a, c - a) @ normals.reshape(-1, 3)[triangles[0]].mean(axis=0) < 0:
        triangles = triangles[:, ::-1]
    body = Solid(corners, normals.reshape(-1, 3), triangles, colour)
    return Prop(body, np.empty((0, 2, 3)))


def skin_moves(points: FloatArray, sample: FloatArray, *, swings: FloatArray) -> FloatArray:
    """Return the movement of points (m, 3) on the skin: that of the nearest of its samples (n, 3)."""
    if not len(points):
        return np.empty((0, 3))
    from scipy.spatial import cKDTree  # here: only a loose wrap needs it, and it takes long to import

    _, nearest = cKDTree(sample).query(points)
    return np.asarray(swings[nearest])
