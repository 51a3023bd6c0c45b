"""The holder as it is drawn: a whole block behind x = 0, or a block cut open along the bar.

The block stands for whatever holds the bar. Its size is chosen to read well and means nothing.
"""

from __future__ import annotations

import numpy as np

from stickout.cli.show.scene.hull import convex_outline
from stickout.cli.show.scene.solids import Solid, flat_solid
from stickout.meshes.tagged import FloatArray

GAP = 0.03  # of the section's half size: block faces that lie on bar faces flicker


def plain_block(half: FloatArray, length: float) -> Solid:
    """Return a whole block with a face at x = 0.

    Parameters
    ----------
    half
        Half width along y and half height along z [m], shape (2,).
    length
        Size along x [m].

    Returns
    -------
    Solid
    """
    low = np.array([-length, -half[0], -half[1]])
    high = np.array([0.0, half[0], half[1]])
    return flat_solid(_box_faces(low, high), "holder")


def _box_faces(low: FloatArray, high: FloatArray) -> FloatArray:
    """Return the six faces of a box from its low and high corner, outward, shape (6, 4, 3)."""
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)])
    faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]]
    return np.asarray(np.where(corners == 1, high, low)[np.array(faces)])


def cut_block(
    section: FloatArray, *, start: float, margin: float
) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
    """Return a block bored to the bar's section and cut open in the plane of the bar's axis.

    Parameters
    ----------
    section
        Points (y, z) of the gripped section [m], shape (n, 2).
    start
        Where the block begins, x below zero [m]; it ends at x = 0.
    margin
        Thickness of the block round the section [m].

    Returns
    -------
    behind
        The part below the axis, the bore and the lower cut face with its hatching: drawn before the bar.
    before
        The part above the axis and the upper cut face with its hatching: drawn after the bar.
    """
    centre = (section.min(axis=0) + section.max(axis=0)) / 2
    half = float((section.max(axis=0) - section.min(axis=0)).max()) / 2
    inside, outside = _profile(section - centre, half, margin)
    inside, outside = inside + centre, outside + centre
    n = len(inside) // 2 + 1
    bore = _bore_faces(inside, start)
    lower = np.concatenate([bore, _shell_faces(inside[:n], outside[:n], start)])
    upper = _shell_faces(inside[n - 1 :], outside[n - 1 :], start)
    behind = (flat_solid(lower, "holder"), *_cut_face(outside[0], inside[0], start, half))
    before = (flat_solid(upper, "holder"), *_cut_face(inside[-1], outside[-1], start, half))
    return behind, before


def _profile(section: FloatArray, half: float, margin: float) -> tuple[FloatArray, FloatArray]:
    """Return bore and outside of the far half about the centre, from below to above, each (2 k + 1, 2)."""
    hull = convex_outline(section)
    corners = np.abs(np.arctan2(hull[:, 1], hull[:, 0]))
    quarter = np.concatenate([np.linspace(0, np.pi / 2, 25), [np.pi / 4], corners[corners < np.pi / 2]])
    # The same angles above and below, so that the list has the axis plane in its middle.
    quarter = np.unique(np.round(quarter, 9))
    turn = np.concatenate([-quarter[::-1], quarter[1:]])
    ray = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    inside = ray * (_reach(hull, ray) + GAP * half)[:, None]
    return inside, ray * ((half + margin) / np.abs(ray).max(axis=1))[:, None]


def _reach(hull: FloatArray, ray: FloatArray) -> FloatArray:
    """Return how far rays (n, 2) from the origin run inside a convex outline (m, 2) around it, shape (n,)."""
    side = np.roll(hull, -1, axis=0) - hull
    outward = np.stack([side[:, 1], -side[:, 0]], axis=1)
    level = np.einsum("mk,mk->m", outward, hull)
    speed = ray @ outward.T
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = np.where(speed > 1e-15, level / speed, np.inf)
    return np.asarray(reach.min(axis=1))


def _at(x: float, yz: FloatArray) -> FloatArray:
    """Return points (n, 3) at one x from their y and z, shape (n, 2)."""
    return np.concatenate([np.full((len(yz), 1), x), yz], axis=1)


def _shell_faces(inside: FloatArray, outside: FloatArray, start: float) -> FloatArray:
    """Return the front, back and outer faces of one part of the block, shape (n, 4, 3)."""
    faces = []
    for corners in (
        (_at(0, inside[:-1]), _at(0, outside[:-1]), _at(0, outside[1:]), _at(0, inside[1:])),
        (_at(start, inside[1:]), _at(start, outside[1:]), _at(start, outside[:-1]), _at(start, inside[:-1])),
        (_at(0, outside[:-1]), _at(start, outside[:-1]), _at(start, outside[1:]), _at(0, outside[1:])),
    ):
        faces.append(np.stack(corners, axis=1))
    return np.concatenate(faces)


def _bore_faces(inside: FloatArray, start: float) -> FloatArray:
    """Return the faces of the bore, shape (n, 4, 3)."""
    corners = (_at(0, inside[1:]), _at(start, inside[1:]), _at(start, inside[:-1]), _at(0, inside[:-1]))
    return np.stack(corners, axis=1)


def _cut_face(low: FloatArray, high: FloatArray, start: float, half: float) -> tuple[Solid, Solid]:
    """Return one cut face, looking toward -y, and its hatching, from its lower and upper (y, z)."""
    face = np.array([[[start, *low], [0.0, *low], [0.0, *high], [start, *high]]])
    tall = float(high[1] - low[1])
    foot = np.arange(start - tall, 0.0, 0.28 * half)
    bars = []
    for x in foot:
        # A line at 45 degrees, cut to the face.
        begin, end = max(0.0, start - x), min(tall, -x)
        if end > begin:
            bars.append(_stripe(x, (begin, end), low, 0.022 * half, start))
    return flat_solid(face, "section"), flat_solid(np.array(bars), "hatch")


def _stripe(x: float, rise: tuple[float, float], low: FloatArray, thin: float, start: float) -> FloatArray:
    """Return one hatching line as a narrow quadrilateral just off the cut face, shape (4, 3)."""
    begin, end = rise
    y = low[0] - thin
    # Ends cut level, and never past the ends of the face.
    left, right = (np.array([x + up + shift for up in rise]) for shift in (-thin, thin))
    left, right = np.clip(left, start, 0.0), np.clip(right, start, 0.0)
    foot, head = low[1] + begin, low[1] + end
    return np.array([[left[0], y, foot], [right[0], y, foot], [right[1], y, head], [left[1], y, head]])
