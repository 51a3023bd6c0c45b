"""Reading and writing mesh files; the only module that imports meshio.

In a VTU file every label of cells is an array of its own, 1 where a cell has it, named ``region bar``,
``patch end`` or ``edge``, and ``region`` numbers the regions for colouring. A Gmsh file (version 4.1,
binary) keeps the same names as its physical groups. Both keep nodes and cells in their order, and modes as
point data: ``mode_1_motion``, and in a VTU file ``mode_1_frequency_hz`` on every point. Lengths in m.
"""

from __future__ import annotations

import tempfile
import zlib
from pathlib import Path
from typing import Protocol

import meshio
import numpy as np

from stickout.meshes.check import check_mesh
from stickout.meshes.errors import InputError
from stickout.meshes.groups import NODES_OF, Group, groups_of, mesh_of, named_group
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

SUFFIXES = (".vtu", ".msh")
_CELL_TYPES = {20: "hexahedron20", 8: "quad8", 1: "vertex"}
_DIMENSION = {20: 3, 8: 2, 1: 0}
# What meshio raises on a file that is cut off or altered, beside its own ReadError.
_DAMAGED = (meshio.ReadError, ValueError, LookupError, TypeError, AssertionError, EOFError, zlib.error)


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
        The suffix is unknown, a name cannot be kept in a file, or the file cannot be written.
    """
    path = Path(path)
    suffix = _suffix(path)
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


def read_mesh(path: str | Path) -> TaggedMesh:
    """Read a mesh that ``write_mesh`` wrote, or one whose groups are named alike.

    Parameters
    ----------
    path
        The file, ``.vtu`` or ``.msh``.

    Returns
    -------
    TaggedMesh
        A checked mesh whose arrays may be changed; ``family`` is -1 where the file has none.

    Raises
    ------
    InputError
        The suffix is unknown, there is no such file, it is damaged or lacks a label, or the mesh in it
        does not pass ``check_mesh``.
    """
    path = Path(path)
    suffix = _suffix(path)
    try:
        read = meshio.vtu.read(path) if suffix == ".vtu" else meshio.gmsh.read(path)
        points, groups = _from_vtu(read) if suffix == ".vtu" else _from_gmsh(read)
    except InputError:
        raise
    except OSError as error:
        raise InputError(
            key="mesh file", given=f"{path} ({error.strerror})", allowed="a file that can be read",
            mend="Look for a slip in its name.",
        ) from error  # fmt: skip
    except _DAMAGED as error:
        raise InputError(
            key="mesh file", given=f"{path} ({type(error).__name__}: {error})",
            allowed=f"a whole {suffix} file with labelled groups", mend="Write it again with write_mesh.",
        ) from error  # fmt: skip
    mesh = mesh_of(points, groups)
    check_mesh(mesh)
    return mesh


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


def _from_vtu(read: meshio.Mesh) -> tuple[FloatArray, list[Group]]:
    names = [one for one in read.cell_data if one.partition(" ")[0] in NODES_OF and one != "region"]
    if not names:
        raise InputError(
            key="mesh file", given=sorted(read.cell_data),
            allowed="a cell array for each label, such as 'region bar' and 'edge', 1 where a cell has it",
            mend="Write the mesh with write_mesh.",
        )  # fmt: skip
    tags = []
    for place, block in enumerate(read.cells):
        tag = np.zeros(len(block.data), dtype=np.int64)
        for number, name in enumerate(names, 1):
            tag[np.asarray(read.cell_data[name][place]) == 1] = number
        tags.append(tag)
    return _writable(read.points), _read_groups(read, tags, dict(enumerate(names, 1)))


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


def _from_gmsh(read: meshio.Mesh) -> tuple[FloatArray, list[Group]]:
    labels = {int(number): name for name, (number, _) in read.field_data.items()}
    groups = _read_groups(read, read.cell_data["gmsh:physical"], labels)
    points = _writable(read.points)
    if "node" not in read.point_data:
        return points, groups
    order = read.point_data["node"].astype(np.int64)
    points[order] = points.copy()
    return points, [named_group(g.label, order[g.nodes], number=g.number, family=g.family) for g in groups]


def _read_groups(read: meshio.Mesh, tags: list[IntArray], labels: dict[int, str]) -> list[Group]:
    """Return the groups of the blocks of cells; a block may hold several labels."""
    groups = []
    total = 0
    for place, block in enumerate(read.cells):
        number = np.arange(total, total + len(block.data))
        family = np.full(len(block.data), -1)
        number, family = (
            np.asarray(read.cell_data[key][place]) if key in read.cell_data else default
            for key, default in (("number", number), ("family", family))
        )
        total += len(block.data)
        for tag in np.unique(tags[place][tags[place] > 0]):
            mine = tags[place] == tag
            whole = (a[mine].astype(np.int64) for a in (block.data, number, family))
            nodes, numbers, families = whole
            groups.append(named_group(labels[int(tag)], nodes, number=numbers, family=families))
    return sorted(groups, key=lambda g: list(labels.values()).index(g.label))


def _writable(array: FloatArray) -> FloatArray:
    return np.array(array, dtype=np.float64)
