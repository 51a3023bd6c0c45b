"""A round bar in straight-edged 8-node hexahedra, for libraries whose cells have no curved sides.

The section is a square core with rings round it (an O-grid). A polygon with its corners on the circle would
lose area, so it is blown up until its radius of gyration is that of the circle, on which the bending notes
hang; the axial ones do not hang on the size, and coarse cells cannot warp, which keeps the torsion right.
Layers along the bar grow away from the held face.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def section(radius: float, across: int, rings: int, *, core: float = 0.55) -> tuple[FloatArray, IntArray]:
    """Return points (n, 2) and counter-clockwise quadrilaterals (n_cells, 4) of a disc.

    Parameters
    ----------
    radius
        Radius of the disc.
    across
        Cells along a side of the core; the polygon has four times as many sides.
    rings
        Rings of cells from the core to the skin.
    core
        Distance of the core's corners from the axis over the radius.
    """
    side = np.linspace(-1, 1, across + 1)
    y, z = (a.ravel() for a in np.meshgrid(side, side, indexing="ij"))
    # A core half-way between square and disc keeps the angles of its corner cells open.
    bulge = np.maximum(np.abs(y), np.abs(z)) / np.maximum(np.hypot(y, z), 1e-12)
    core_points = core * radius * np.stack([y, z], axis=1) * (0.5 * np.sqrt(0.5) + 0.5 * bulge)[:, None]
    node = np.arange((across + 1) ** 2).reshape(across + 1, across + 1)
    loop = np.concatenate([node[:-1, 0], node[-1, :-1], node[:0:-1, -1], node[0, :0:-1]])
    angle = -3 * np.pi / 4 + np.arange(4 * across) * np.pi / (2 * across)
    sides = 4 * across
    # Second moment over area: R^2 (2 + cos t) / 12 of the polygon with corners at R, r^2 / 4 of the circle.
    true_gyration = np.sqrt(3 / (2 + np.cos(2 * np.pi / sides)))
    rim = true_gyration * radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    part = np.arange(1, rings + 1) / rings
    shells = [core_points[loop] * (1 - t) + rim * t for t in part]
    points = np.concatenate([core_points, *shells])
    loops = [loop, *[len(core_points) + sides * k + np.arange(sides) for k in range(rings)]]
    inner = np.stack([node[:-1, :-1], node[1:, :-1], node[1:, 1:], node[:-1, 1:]], axis=-1).reshape(-1, 4)
    outer = [np.stack([a, b, np.roll(b, -1), np.roll(a, -1)], axis=1) for a, b in pairwise(loops)]
    return points, np.concatenate([inner, *outer])


def layers(length: float, first: float, longest: float, growth: float) -> FloatArray:
    """Return stations: layers from `first` on, each `growth` times the last, up to `longest`."""
    steps = [first]
    while sum(steps) < length:
        steps.append(min(steps[-1] * growth, longest))
    stations = np.concatenate([[0.0], np.cumsum(steps)])
    stretched: FloatArray = stations * (length / stations[-1])
    return stretched


def sweep(points: FloatArray, cells: IntArray, stations: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return the nodes (n, 3), x along the bar, and the 8-node cells of a section swept along stations."""
    n = len(points)
    nodes = np.column_stack([np.repeat(stations, n), np.tile(points, (len(stations), 1))])
    base = n * np.arange(len(stations) - 1)[:, None, None]
    hexes = np.concatenate([cells + base, cells + base + n], axis=2).reshape(-1, 8)
    return nodes, hexes
