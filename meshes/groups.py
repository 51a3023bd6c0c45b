"""A tagged mesh as groups of cells with a label each, the way mesh files keep it, and back.

The facets of patches and joints are cells of their own, and so is the cutting edge (a vertex on a point
of its own). Every tag then has cells to stand on, whatever the file format.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

# A joint has two groups: the facets of the one body, and those of the other that face them.
NODES_OF = {"region": 20, "patch": 8, "joint": 8, "facing": 8, "edge": 1}
_NAME = re.compile(r"[\w .+-]*")


@dataclass(frozen=True)
class Group:
    """Cells of one label.

    Attributes
    ----------
    kind
        One of ``NODES_OF``.
    name
        Name of the region, patch or joint; empty for the edge.
    nodes
        Nodes of the cells, shape (n, NODES_OF[kind]).
    number
        Number of each cell: in ``TaggedMesh.cells`` for a region, within the group otherwise; (n,).
    family
        Family of each cell, -1 where it has none; shape (n,).
    """

    kind: str
    name: str
    nodes: IntArray
    number: IntArray
    family: IntArray

    @property
    def label(self) -> str:
        """Return kind and name in one."""
        return f"{self.kind} {self.name}".strip()


def groups_of(mesh: TaggedMesh) -> tuple[FloatArray, list[Group]]:
    """Return the points [m] of a mesh with the edge behind them, and the groups of its cells.

    Raises
    ------
    InputError
        A name holds a letter that would not survive in a file.
    """
    groups = [
        Group("region", name, mesh.cells[cells], cells, mesh.family[cells])
        for name, cells in mesh.regions.items()
    ]
    groups += [_plain("patch", name, facets) for name, facets in mesh.patches.items()]
    for name, both in mesh.joints.items():
        groups += [_plain("joint", name, both[:, :8]), _plain("facing", name, both[:, 8:])]
    groups.append(_plain("edge", "", np.array([[len(mesh.points)]])))
    for group in groups:
        if not _NAME.fullmatch(group.name):
            raise InputError(
                key=f"mesh {group.kind}", given=group.name, allowed="letters, digits, blanks and . + - _",
                mend="Choose another name; files mark names off by commas and quotes.",
            )  # fmt: skip
    return np.vstack([mesh.points, mesh.edge]), groups


def _plain(kind: str, name: str, nodes: IntArray) -> Group:
    """Return a group without families, numbered as it stands."""
    return Group(kind, name, nodes, np.arange(len(nodes)), np.full(len(nodes), -1))


def named_group(label: str, nodes: IntArray, *, number: IntArray, family: IntArray) -> Group:
    """Return the group that a label names.

    Parameters
    ----------
    label
        Kind and name, as ``Group.label``.
    nodes, number, family
        As in ``Group``.

    Returns
    -------
    Group
        The group.

    Raises
    ------
    InputError
        The label names no kind of group, or its cells have a wrong number of nodes.
    """
    kind, _, name = label.partition(" ")
    if NODES_OF.get(kind) != nodes.shape[1]:
        raise InputError(
            key="mesh file", given=f"{label!r} with cells of {nodes.shape[1]} nodes",
            allowed=f"labels that start with a kind, whose cells have so many nodes: {NODES_OF}",
            mend="Name the groups as write_mesh does, for instance 'region bar' and 'patch end'.",
        )  # fmt: skip
    return Group(kind, name, nodes, number, family)


def mesh_of(points: FloatArray, groups: Sequence[Group]) -> TaggedMesh:
    """Return the mesh of groups; points that only the edge uses are left out.

    Parameters
    ----------
    points
        Positions [m], shape (n, 3).
    groups
        All groups, one of them the edge.

    Returns
    -------
    TaggedMesh
        Not checked yet.

    Raises
    ------
    InputError
        There is no region, no edge or more than one, or the two sides of a joint do not match.
    """
    by_kind = {kind: {g.name: g for g in groups if g.kind == kind} for kind in NODES_OF}
    regions, edges = list(by_kind["region"].values()), list(by_kind["edge"].values())
    if not regions or len(edges) != 1 or len(edges[0].nodes) != 1:
        raise InputError(
            key="mesh file", given=sorted(g.label for g in groups),
            allowed="at least one group 'region NAME', and a group 'edge' of one vertex",
            mend="Write it with write_mesh, or name the groups so.",
        )  # fmt: skip
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
    sizes = [{name: len(g.nodes) for name, g in side.items()} for side in (one, other)]
    if sizes[0] != sizes[1]:
        raise InputError(
            key="mesh file", given=f"joints {sizes[0]} and facing facets {sizes[1]}",
            allowed="as many facing facets as facets for every joint", mend="Write it with write_mesh.",
        )  # fmt: skip
    return {name: np.hstack([one[name].nodes, other[name].nodes]) for name in one}
