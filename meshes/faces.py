"""Faces of the 20-node hexahedron, and which of them lie on the outside of a mesh."""

from __future__ import annotations

import numpy as np

from stickout.meshes.tagged import IntArray

# Each face: 4 corners, then 4 edge middles, in VTK order, outward normal by the right-hand rule.
HEX_FACES = np.array(
    [
        [0, 3, 2, 1, 11, 10, 9, 8],
        [4, 5, 6, 7, 12, 13, 14, 15],
        [0, 1, 5, 4, 8, 17, 12, 16],
        [1, 2, 6, 5, 9, 18, 13, 17],
        [2, 3, 7, 6, 10, 19, 14, 18],
        [0, 4, 7, 3, 16, 15, 19, 11],
    ]
)


def face_counts(cells: IntArray) -> tuple[IntArray, IntArray]:
    """Return every face of every cell, and how many cells have it.

    Parameters
    ----------
    cells
        Nodes of the cells in VTK order, shape (n_cells, 20).

    Returns
    -------
    tuple of ndarray
        Nodes of the faces, shape (6 * n_cells, 8), cell by cell, and for each the number of cells
        that share it, shape (6 * n_cells,): 1 outside, 2 inside, more only in a faulty mesh.
    """
    faces = cells[:, HEX_FACES].reshape(-1, 8)
    _, place, count = np.unique(face_keys(faces), return_inverse=True, return_counts=True)
    return faces, count[place.ravel()]


def face_keys(faces: IntArray) -> IntArray:
    """Return one record a face that does not depend on where its nodes start or which way they run.

    Two faces are the same when all 8 nodes are; so a face whose corners meet those of another but
    whose middles do not counts as outside, as it should: the two would gape.
    """
    ordered = np.ascontiguousarray(np.sort(faces, axis=1))
    keys: IntArray = ordered.view([("", ordered.dtype)] * ordered.shape[1]).ravel()
    return keys


def outer_faces(cells: IntArray) -> IntArray:
    """Return the faces that belong to one cell only, shape (n_faces, 8)."""
    faces, count = face_counts(cells)
    outside: IntArray = faces[count == 1]
    return outside
