"""The mesh every other part works on: second-order hexahedra with names for cells and faces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class TaggedMesh:
    """A conforming mesh of second-order hexahedra, lengths in metres.

    Attributes
    ----------
    points
        Node positions [m], shape (n_points, 3), columns x, y, z of the bar frame.
    cells
        Nodes of each cell in the VTK order of the 20-node quadratic hexahedron
        (8 corners, 12 edge middles), shape (n_cells, 20).
    regions
        Name of a region -> indices of its cells. Every cell is in exactly one region.
    patches
        Name of a patch -> nodes of its facets in the VTK order of the 8-node quadratic
        quadrilateral (4 corners, 4 edge middles), outward normal by the right-hand rule,
        shape (n_facets, 8). Always holds ``end``; ``root`` where the bar starts at the holder face.
    edge
        Position of the cutting edge [m], shape (3,).
    family
        Cells with the same number have the same section and differ only by length along x and a
        shift; shape (n_cells,). -1: no family known.
    joints
        Name of a joint -> nodes of its facets on both sides, shape (n_facets, 16): 8 of the one body
        as in a patch, outward from it, then the 8 of the other body at the same places.
    """

    points: FloatArray
    cells: IntArray
    regions: Mapping[str, IntArray]
    patches: Mapping[str, IntArray]
    edge: FloatArray
    family: IntArray
    joints: Mapping[str, IntArray] = field(default_factory=dict)
