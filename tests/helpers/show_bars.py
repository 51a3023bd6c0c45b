"""Test meshes of square and round bars with beam-like mode shapes, made without the mesher."""

from __future__ import annotations

import numpy as np

from stickout.cli.show.scene.scene import Scene
from stickout.meshes.tagged import FloatArray, TaggedMesh

# Corners, then edge middles, of the VTK 20-node hexahedron on a grid of half steps.
_GRID = np.array(
    [
        *[[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [0, 0, 2], [2, 0, 2], [2, 2, 2], [0, 2, 2]],
        *[[1, 0, 0], [2, 1, 0], [1, 2, 0], [0, 1, 0], [1, 0, 2], [2, 1, 2], [1, 2, 2], [0, 1, 2]],
        *[[0, 0, 1], [2, 0, 1], [2, 2, 1], [0, 2, 1]],
    ]
)
_END = np.array([1, 2, 6, 5, 9, 18, 13, 17])


def bar(
    *, width: float = 0.016, overhang: float = 0.08, gripped: float = 0.0, round_: bool = False
) -> TaggedMesh:
    """Return a bar along x of 20-node hexahedra; lengths in metres, regions ``bar`` and ``grip``."""
    across, behind, ahead = 4, (4 if gripped else 0), 12
    stations = np.concatenate(
        [np.linspace(-gripped, 0, behind + 1)[:-1], np.linspace(0, overhang, ahead + 1)]
    )
    stations = np.interp(np.arange(2 * len(stations) - 1) / 2, np.arange(len(stations)), stations)
    side = np.linspace(-1, 1, 2 * across + 1)
    x, y, z = np.meshgrid(stations, side, side, indexing="ij")
    if round_:
        # Square to disc, area not kept: enough for a skin (Fong's elliptical map, recalled, not opened).
        y, z = y * np.sqrt(1 - z**2 / 2), z * np.sqrt(1 - y**2 / 2)
    full = np.stack([x.ravel(), 0.5 * width * y.ravel(), 0.5 * width * z.ravel()], axis=1)
    count = np.array([behind + ahead, across, across])
    start = 2 * np.stack(np.meshgrid(*[np.arange(n) for n in count], indexing="ij"), axis=-1).reshape(
        -1, 1, 3
    )
    cells = np.ravel_multi_index(tuple(np.moveaxis(start + _GRID, -1, 0)), tuple(2 * count + 1))
    used, cells = np.unique(cells, return_inverse=True)
    cells = cells.reshape(-1, 20)
    points = full[used]
    middle = points[cells].mean(axis=1)[:, 0]
    regions = {"bar": np.flatnonzero(middle > 0)}
    if gripped:
        regions["grip"] = np.flatnonzero(middle < 0)
    ends = cells[np.isclose(points[cells[:, 1], 0], overhang)][:, _END]
    return TaggedMesh(
        points=points,
        cells=cells,
        regions=regions,
        patches={"end": ends},
        edge=np.array([overhang, 0.0, 0.0]),
        family=np.full(len(cells), -1),
    )


def bending(
    mesh: TaggedMesh, *, direction: tuple[float, float, float] = (0, 0, 1), order: int = 1
) -> FloatArray:
    """Return a cantilever's bending shape of Euler-Bernoulli theory with plane sections, (n_points, 3)."""
    beta = (1.87510407, 4.69409113)[order - 1]  # roots of cosh b cos b = -1, from memory
    length = mesh.points[:, 0].max()
    s = beta * np.clip(mesh.points[:, 0], 0, None) / length
    k = (np.cosh(beta) + np.cos(beta)) / (np.sinh(beta) + np.sin(beta))
    bend = np.cosh(s) - np.cos(s) - k * (np.sinh(s) - np.sin(s))
    slope = beta / length * (np.sinh(s) + np.sin(s) - k * (np.cosh(s) - np.cos(s)))
    way = np.array(direction) / np.linalg.norm(direction)
    return bend[:, None] * way - (slope * (mesh.points @ way))[:, None] * np.array([1.0, 0, 0])


def torsion(mesh: TaggedMesh) -> FloatArray:
    """Return the first twisting shape of a bar held at x = 0, (n_points, 3)."""
    x, y, z = mesh.points.T
    turn = np.sin(np.pi / 2 * np.clip(x, 0, None) / x.max())
    return np.stack([0 * x, -turn * z, turn * y], axis=1)


def scene(mesh: TaggedMesh, shape: FloatArray, **more: object) -> Scene:
    """Return a scene of a 1043 Hz mode with a force down and back."""
    given: dict[str, object] = {
        "frequency_hz": 1043.0,
        "title": "Square bar 16 x 80 mm",
        "force": np.array([-0.3, 0.0, -1.0]),
        "share": 0.92,
        "kind": "bending",
    }
    return Scene(mesh=mesh, shape=shape, **{**given, **more})  # type: ignore[arg-type]
