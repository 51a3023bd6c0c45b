"""Section meshes of second-order quadrilaterals: round about the axis, or a grid of straight lines.

Where an edge lies on a circle its middle node is put so that the area under the curved edge is exact,
not on the circle (off by under a thousandth of the radius). Then eight cells round a bar do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.outlines import Outline
from stickout.meshes.rays import CoarseError
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray

# How round the inner block is (0 square, 1 disc): by the least error of six frequencies (computed here).
_CORE_ROUND = 0.5


@dataclass(frozen=True)
class Section:
    """A mesh of the section, before it is swept.

    Attributes
    ----------
    points
        Node positions y, z [m], shape (n_points, 2).
    cells
        Nodes of each cell, 4 corners then 4 edge middles, counter-clockwise, shape (n_cells, 8).
    layer
        Number of the outline that bounds the cell outside, counted from inside; shape (n_cells,).
        0 throughout for a grid.
    """

    points: FloatArray
    cells: IntArray
    layer: IntArray


def grid_section(y_lines: FloatArray, z_lines: FloatArray) -> Section:
    """Return a section of rectangles between straight lines.

    Parameters
    ----------
    y_lines, z_lines
        Positions of the lines [m], rising, shapes (n_y + 1,) and (n_z + 1,).

    Returns
    -------
    Section
        ``n_y * n_z`` cells, z running fastest.
    """
    y, z = _with_middles(y_lines), _with_middles(z_lines)
    ids = np.arange(len(y) * len(z)).reshape(len(y), len(z))
    points = np.stack(np.meshgrid(y, z, indexing="ij"), axis=-1).reshape(-1, 2)
    cells = _cells_of(ids)
    return compressed(points, cells, layer=np.zeros(len(cells), dtype=np.int64))


def polar_section(
    outlines: Sequence[Outline],
    *,
    solid: bool,
    rays: FloatArray,
    rings: Sequence[FloatArray],
    core: float = 0.7,
) -> Section:
    """Return a section of cells about the axis with a line of edges along every outline.

    Parameters
    ----------
    outlines
        From inside to outside; each may touch the next but not cross it. Without a core the first
        bounds the bore.
    solid
        True when there is material at the axis: an inner block is then made.
    rays
        Angles of the rays between cells, by ``ray_angles``: at least two cells in a quadrant, and as
        many along each side of the inner block.
    rings
        Where the lines between the inner block and the first outline (only when solid) and between
        the outlines lie, from 0 at the inner one to 1 at the outer, both included. A layer that
        pinches out somewhere is always 2 cells thick.
    core
        How far the inner block reaches toward the first outline.

    Returns
    -------
    Section
        ``layer`` says which outline a cell lies within.

    Raises
    ------
    InputError
        Two outlines cross.
    CoarseError
        There are too few rays for the pinched layers.
    """
    around = len(rays) // 8
    reach = np.array([o.reach(rays) for o in outlines])
    curves = np.stack([_curve(o, r, rays) for o, r in zip(outlines, reach, strict=True)])
    thickness = np.diff(reach, axis=0)
    size = reach.max()
    if np.any(thickness[:, ::2] < -1e-9 * size):
        raise InputError(
            key="bar.steps",
            given=[f"{2e3 * float(r.min()):.4g} to {2e3 * float(r.max()):.4g} mm across" for r in reach],
            allowed="sizes of which each lies wholly inside the next",
            mend="Change the step so that one outline does not cut through the other.",
        )
    shut = np.zeros((len(outlines), 8 * around), dtype=bool)
    shut[1:] = thickness < 1e-6 * size
    points, rows, owner = _lattice(
        curves, shut, solid=solid, rings=rings, core=_core_points(outlines[0], around, core)
    )
    cells = _cells_of(np.concatenate([rows, rows[:, :1]], axis=1))
    layers = np.repeat(owner, 4 * around)
    for layer in np.unique(layers[shut[layers].any(axis=1)]):
        points, cells, layers = _pinched(
            points, cells, layers, (int(layer), rows[_rows_of(owner, layer)], shut[layer])
        )
    if solid:
        block = _cells_of(np.arange((2 * around + 1) ** 2).reshape(2 * around + 1, -1))
        cells = np.vstack([block, cells])
        layers = np.concatenate([np.zeros(len(block), dtype=np.int64), layers])
    return compressed(points, cells, layer=layers)


def _with_middles(lines: FloatArray) -> FloatArray:
    out = np.empty(2 * len(lines) - 1)
    out[::2] = lines
    out[1::2] = (lines[1:] + lines[:-1]) / 2
    return out


def _cells_of(ids: IntArray) -> IntArray:
    """Return the 8-node cells of a lattice of node numbers with odd sizes; first axis y, second z."""
    i, j = (g.ravel() for g in np.meshgrid(*[np.arange(0, n - 1, 2) for n in ids.shape], indexing="ij"))
    order = [(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1)]
    return np.stack([ids[i + a, j + b] for a, b in order], axis=1)


def compressed(points: FloatArray, cells: IntArray, *, layer: IntArray) -> Section:
    """Return a section of the nodes that its cells use, numbered anew."""
    used, renumbered = np.unique(cells, return_inverse=True)
    return Section(points[used], renumbered.reshape(cells.shape), layer)


def _curve(outline: Outline, reach: FloatArray, angle: FloatArray) -> FloatArray:
    """Return the outline's nodes on the rays, its middle nodes placed for exact area; shape (n_rays, 2)."""
    corner = np.stack([reach * np.cos(angle), reach * np.sin(angle)], axis=1)
    corner = corner[::2]
    following = np.roll(corner, -1, axis=0)
    middle = (corner + following) / 2
    gap = np.diff(angle[::2], append=angle[0] + 2 * np.pi)
    arc = np.isclose(reach[1::2], outline.radius, rtol=1e-9)
    chord = np.linalg.norm(following - corner, axis=1)
    bow = 0.75 * outline.radius**2 * (gap - np.sin(gap)) / chord if np.isfinite(outline.radius) else 0 * gap
    outward = np.stack([np.cos(angle[1::2]), np.sin(angle[1::2])], axis=1)
    middle = middle + outward * np.where(arc, bow, 0.0)[:, None]
    return np.stack([corner, middle], axis=1).reshape(-1, 2)


def _core_points(outline: Outline, around: int, core: float) -> FloatArray:
    """Return the lattice of the inner block, shape ((2*around+1)^2, 2), first axis y."""
    s = np.linspace(-1, 1, 2 * around + 1)
    u, v = np.meshgrid(s, s, indexing="ij")
    disc = np.stack([u * np.sqrt(1 - v**2 / 2), v * np.sqrt(1 - u**2 / 2)], axis=-1)
    square = np.stack([u, v], axis=-1) / np.sqrt(2)
    unit = (_CORE_ROUND * disc + (1 - _CORE_ROUND) * square).reshape(-1, 2)
    half = outline.reach(np.array([0.0, np.pi / 2]))
    points: FloatArray = core * unit * half
    return points


def _lattice(
    curves: FloatArray, shut: BoolArray, *, solid: bool, rings: Sequence[FloatArray], core: FloatArray
) -> tuple[FloatArray, IntArray, IntArray]:
    """Return points, node numbers of every row of rays (n_rows, n_rays), and the layer of each row pair."""
    rays = np.arange(curves.shape[1])
    if solid:
        points = core
        ids = np.arange(len(points)).reshape(len(rays) // 4 + 1, -1)
        rows = [np.concatenate([ids[-1, :-1], ids[:0:-1, -1], ids[0, :0:-1], ids[:-1, 0]])]
    else:
        points, rows = curves[0], [rays]
    owner: list[int] = []
    for layer, lines in zip(range(0 if solid else 1, len(curves)), rings, strict=True):
        places = _with_middles(np.array([0.0, 0.5, 1.0]) if shut[layer].any() else lines)
        inner = rows[-1]
        for place in places[1:]:
            rows.append(np.where(shut[layer], inner, len(points) + rays))
            points = np.vstack([points, (1 - place) * points[inner] + place * curves[layer]])
        owner.extend([layer] * (len(places) // 2))
    return points, np.array(rows), np.array(owner, dtype=np.int64)


def _rows_of(owner: IntArray, layer: int) -> slice:
    """Return the five rows of a layer that is two cells thick."""
    start = 2 * int(np.argmax(owner == layer))
    return slice(start, start + 5)


def _pinched(
    points: FloatArray, cells: IntArray, layers: IntArray, where: tuple[int, IntArray, BoolArray]
) -> tuple[FloatArray, IntArray, IntArray]:
    """Close a layer that shrinks to nothing: drop its empty cells, end it in one kite at each tip.

    The two cells beside a tip become one, with the tip as a corner and the layer's middle node as
    the opposite one, moved on by a third of a column (along the parabola through three rays).
    """
    layer, row, shut = where
    points, n = points.copy(), len(shut)
    corner_shut = shut[::2]
    keep = np.ones(len(cells), dtype=bool)
    mine = np.flatnonzero(layers == layer).reshape(2, n // 2)
    kites = []
    for column in range(n // 2):
        left, right = corner_shut[column], corner_shut[(column + 1) % (n // 2)]
        if not (left or right):
            continue
        keep[mine[:, column]] = False
        if left and right:
            if not shut[2 * column + 1]:
                raise CoarseError("a pinched layer lies between two rays")
            continue
        tip, side = (2 * column, 1) if left else (2 * column + 2, -1)
        tip, middle, at, far = (np.array([tip, tip + side, tip + 2 * side, tip + 4 * side]) % n).tolist()
        if shut[far]:
            raise CoarseError("a pinched layer is too short for its cells")
        between = (at + side) % n
        mean = [(points[row[0, ray]] + points[row[4, ray]]) / 2 for ray in (at, between, far)]
        centre = (2 * mean[0] + 8 * mean[1] - mean[2]) / 9
        points[row[2, at]] = centre
        points[row[1, at]] = (points[row[0, at]] + centre) / 2
        points[row[3, at]] = (points[row[4, at]] + centre) / 2
        # Between two kites both ends of this edge are moved, so its middle stays.
        both = shut[(far + 2 * side) % n]
        points[row[2, between]] = mean[1] if both else (8 * mean[1] + 2 * mean[2] - mean[0]) / 9
        loop = [
            row[0, tip],
            row[0, at],
            row[2, at],
            row[4, at],
            row[0, middle],
            row[1, at],
            row[3, at],
            row[4, middle],
        ]
        kites.append(loop if side < 0 else [loop[i] for i in (0, 3, 2, 1, 7, 6, 5, 4)])
    added = np.full(len(kites), layer, dtype=np.int64)
    return (
        points,
        np.vstack([cells[keep], np.array(kites).reshape(-1, 8)]),
        np.concatenate([layers[keep], added]),
    )
