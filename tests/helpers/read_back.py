"""Mesh files read back by meshio, group by group: what was written must make the same mesh again."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import meshio
import numpy as np

from stickout.meshes.check import check_mesh
from stickout.meshes.groups import Group
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

NODES_OF = {"region": 20, "patch": 8, "joint": 8, "facing": 8, "edge": 1}


def read_mesh(path: Path) -> TaggedMesh:
    """Return the mesh of a .vtu or .msh file that ``write_mesh`` wrote, checked."""
    is_vtu = path.suffix == ".vtu"
    read = meshio.vtu.read(path) if is_vtu else meshio.gmsh.read(path)
    mesh = mesh_of(*(_from_vtu(read) if is_vtu else _from_gmsh(read)))
    check_mesh(mesh)
    return mesh


def _from_vtu(read: meshio.Mesh) -> tuple[FloatArray, list[Group]]:
    names = [one for one in read.cell_data if one.partition(" ")[0] in NODES_OF and one != "region"]
    assert names, sorted(read.cell_data)
    tags = []
    for place, block in enumerate(read.cells):
        tag = np.zeros(len(block.data), dtype=np.int64)
        for number, name in enumerate(names, 1):
            tag[np.asarray(read.cell_data[name][place]) == 1] = number
        tags.append(tag)
    return _writable(read.points), _read_groups(read, tags, dict(enumerate(names, 1)))


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


def named_group(label: str, nodes: IntArray, *, number: IntArray, family: IntArray) -> Group:
    """Return the group that a label names, by kind and name."""
    kind, _, name = label.partition(" ")
    assert NODES_OF[kind] == nodes.shape[1], label
    return Group(kind, name, nodes, number, family)


def mesh_of(points: FloatArray, groups: Sequence[Group]) -> TaggedMesh:
    """Return the mesh of groups; points that only the edge uses are left out."""
    by_kind = {kind: {g.name: g for g in groups if g.kind == kind} for kind in NODES_OF}
    regions, edges = list(by_kind["region"].values()), list(by_kind["edge"].values())
    assert regions
    assert len(edges) == len(edges[0].nodes) == 1
    nodes = np.concatenate([g.nodes for g in regions])
    rank = np.argsort(np.concatenate([g.number for g in regions]), kind="stable")
    place = np.empty(len(rank), dtype=np.int64)
    place[rank] = np.arange(len(rank))
    starts = np.cumsum([0] + [len(g.nodes) for g in regions])
    used = _used(len(points), groups)
    renumbered = np.cumsum(used) - 1
    return TaggedMesh(
        points=points[used],
        cells=renumbered[nodes[rank]],
        regions={g.name: place[a : a + len(g.nodes)] for g, a in zip(regions, starts[:-1], strict=True)},
        patches={g.name: renumbered[g.nodes] for g in by_kind["patch"].values()},
        edge=points[edges[0].nodes[0, 0]].copy(),
        family=np.concatenate([g.family for g in regions])[rank],
        joints={
            name: renumbered[both] for name, both in _joined(by_kind["joint"], by_kind["facing"]).items()
        },
    )


def _used(n_points: int, groups: Sequence[Group]) -> BoolArray:
    """Return which points some group other than the edge uses, shape (n_points,)."""
    used = np.zeros(n_points, dtype=bool)
    for group in groups:
        if group.kind != "edge":
            used[group.nodes] = True
    return used


def _joined(one: dict[str, Group], other: dict[str, Group]) -> dict[str, IntArray]:
    """Return the nodes of each joint on both sides, shape (n, 16)."""
    assert {name: len(g.nodes) for name, g in one.items()} == {k: len(g.nodes) for k, g in other.items()}
    return {name: np.hstack([one[name].nodes, other[name].nodes]) for name in one}
