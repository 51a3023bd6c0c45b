"""Writing mesh files; the only module that imports meshio.

In a VTU file every label of cells is an array of its own, 1 where a cell has it, named ``region bar``,
``patch end`` or ``edge``, and ``region`` numbers the regions for colouring. A Gmsh file (version 4.1,
binary) keeps the same names as its physical groups. Both keep nodes and cells in their order, and modes as
point data: ``mode_1_motion``, and in a VTU file ``mode_1_frequency_hz`` on every point. Lengths in m.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Protocol

import meshio
import numpy as np

from stickout.meshes.check import check_mesh
from stickout.meshes.errors import InputError
from stickout.meshes.groups import Group, groups_of
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

SUFFIXES = (".vtu", ".msh")
_CELL_TYPES = {20: "hexahedron20", 8: "quad8", 1: "vertex"}
_DIMENSION = {20: 3, 8: 2, 1: 0}


class ModeShapes(Protocol):
    """What is written of modes; any scale of motion. ``stickout.fem.solid.modes.Modes`` is one."""

    @property
    def frequency_hz(self) -> FloatArray:
        """Natural frequencies [Hz], shape (n_modes,)."""

    @property
    def shapes(self) -> FloatArray:
        """Motion of the nodes, shape (n_modes, n_points, 3)."""

    @property
    def edge(self) -> FloatArray:
        """Motion of the edge, shape (n_modes, 3)."""


def write_mesh(mesh: TaggedMesh, path: str | Path, *, modes: ModeShapes | None = None) -> None:
    """Write a mesh, whole or not at all: to a temporary file first, which is then renamed.

    Parameters
    ----------
    mesh
        The mesh; it is not changed.
    path
        The file; its suffix says the format, ``.vtu`` or ``.msh``.
    modes
        Modes to write as point data: ``mode_1_motion`` and so on.

    Raises
    ------
    InputError
        The suffix is unknown, the mesh does not pass ``check_mesh``, a name cannot be kept in a file, or the
        file cannot be written.
    """
    path = Path(path)
    suffix = _suffix(path)
    check_mesh(mesh)
    points, groups = groups_of(mesh)
    data = {} if modes is None else _motions(modes)
    try:
        with tempfile.TemporaryDirectory(prefix=".mesh-", dir=path.parent) as folder:
            part = Path(folder) / path.name
            if suffix == ".vtu":
                notes = {} if modes is None else _notes(modes, len(points))
                meshio.vtu.write(part, _vtu(points, groups, {**data, **notes}))
            else:
                meshio.gmsh.write(part, _gmsh(points, groups, data), fmt_version="4.1", binary=True)
            part.replace(path)
    except OSError as error:
        raise InputError(
            key="mesh file", given=f"{path} ({error.strerror})", allowed="a file that can be written",
            mend="Name a file in a folder of your own that has room.",
        ) from error  # fmt: skip


def _suffix(path: Path) -> str:
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError(
            key="mesh file", given=str(path), allowed=f"a name that ends in {' or '.join(SUFFIXES)}",
            mend="Use .vtu for pictures and other viewers, .msh for other solvers.",
        )  # fmt: skip
    return suffix


def _motions(modes: ModeShapes) -> dict[str, FloatArray]:
    """Return the motion of each mode as point data; the last point is the edge."""
    both = zip(modes.shapes, modes.edge, strict=True)
    return {f"mode_{n}_motion": np.vstack([shape, edge]) for n, (shape, edge) in enumerate(both, 1)}


def _notes(modes: ModeShapes, n_points: int) -> dict[str, FloatArray]:
    """Return the frequency of each mode [Hz] on every point: the format has no place for single numbers."""
    return {
        f"mode_{n}_frequency_hz": np.full(n_points, hertz) for n, hertz in enumerate(modes.frequency_hz, 1)
    }


def _arrays(groups: list[Group]) -> dict[str, list[IntArray]]:
    """Return the cell arrays both formats hold."""
    return {
        "number": [g.number.astype(np.int32) for g in groups],
        "family": [g.family.astype(np.int32) for g in groups],
    }


def _vtu(points: FloatArray, groups: list[Group], data: dict[str, FloatArray]) -> meshio.Mesh:
    labels = {
        label.label: [np.full(len(g.nodes), g is label, dtype=np.int8) for g in groups] for label in groups
    }
    regions = [g for g in groups if g.kind == "region"]
    numbers = [regions.index(g) + 1 if g.kind == "region" else 0 for g in groups]
    colour = [np.full(len(g.nodes), n, dtype=np.int32) for g, n in zip(groups, numbers, strict=True)]
    cells = [(_CELL_TYPES[g.nodes.shape[1]], g.nodes) for g in groups]
    return meshio.Mesh(
        points, cells, point_data=data, cell_data={**labels, "region": colour, **_arrays(groups)}
    )


def _gmsh(points: FloatArray, groups: list[Group], data: dict[str, FloatArray]) -> meshio.Mesh:
    """Return what meshio writes: nodes sorted by the entity they belong to, as the format wants them."""
    entity = _entities(len(points), groups)
    order = np.lexsort((entity[:, 1], entity[:, 0]))
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    tags = [np.full(len(g.nodes), n, dtype=np.int32) for n, g in enumerate(groups, 1)]
    return meshio.Mesh(
        points[order],
        [(_CELL_TYPES[g.nodes.shape[1]], rank[g.nodes]) for g in groups],
        point_data={"gmsh:dim_tags": entity[order], "node": order, **{k: v[order] for k, v in data.items()}},
        cell_data={"gmsh:physical": tags, "gmsh:geometrical": tags, **_arrays(groups)},
        field_data={g.label: np.array([n, _DIMENSION[g.nodes.shape[1]]]) for n, g in enumerate(groups, 1)},
    )


def _entities(n_points: int, groups: list[Group]) -> IntArray:
    """Return dimension and tag of the entity of each node; every entity has one, else it is not written."""
    entity = np.empty((n_points, 2), dtype=np.int64)
    for n, group in enumerate(groups, 1):
        entity[group.nodes] = (_DIMENSION[group.nodes.shape[1]], n)
    settled = np.zeros(n_points, dtype=bool)
    for n, group in sorted(enumerate(groups, 1), key=lambda item: len(item[1].nodes)):
        nodes = np.unique(group.nodes)
        own = nodes[entity[nodes, 1] == n]
        chosen = own[0] if len(own) else nodes[~settled[nodes]][0]
        entity[chosen] = (_DIMENSION[group.nodes.shape[1]], n)
        settled[chosen] = True
    return entity
