"""A tagged mesh as groups of cells with a label each, the way mesh files keep it.

The facets of patches and joints are cells of their own, and so is the cutting edge (a vertex on a point
of its own). Every tag then has cells to stand on, whatever the file format.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

_NAME = re.compile(r"[\w .+-]*")


@dataclass(frozen=True)
class Group:
    """Cells of one label.

    Attributes
    ----------
    kind
        ``region``, ``patch``, ``edge``, or a side of a joint: ``joint`` for the facets of the one body,
        ``facing`` for those of the other that face them.
    name
        Name of the region, patch or joint; empty for the edge.
    nodes
        Nodes of the cells, shape (n, 20), (n, 8) or, the edge, (1, 1).
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
