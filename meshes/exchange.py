"""A mesh for scikit-fem, so that anyone can check our matrices or go on with their own forms."""

from __future__ import annotations

from typing import Any

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.shape import HEX20
from stickout.meshes.tagged import TaggedMesh

# Our corner at each corner of scikit-fem's hexahedron: (0,0,0), (0,0,1), (0,1,0), (1,0,0), (0,1,1), ...
_CORNERS = [0, 4, 3, 1, 7, 5, 2, 6]
# How far a middle node may lie off the middle of its edge, over the mesh's size: rounding of positions.
_STRAY = 1e-9


def skfem_mesh(mesh: TaggedMesh) -> Any:  # noqa: ANN401 - scikit-fem has no types
    """Return the straight-sided cells of a mesh as a ``skfem.MeshHex`` with its regions as subdomains.

    Its 8-node cells carry ``skfem.ElementHexS2`` as their 20-node element; a node's unknowns are found
    by their position.

    Parameters
    ----------
    mesh
        A mesh whose edges are straight, their middle nodes in the middle.

    Returns
    -------
    skfem.MeshHex
        Points in metres; the patches are not carried over, scikit-fem finds facets by position.

    Raises
    ------
    InputError
        An edge is curved: scikit-fem has no 20-node mesh to hold it.
    """
    import skfem

    ends = [
        np.flatnonzero(np.all(np.abs(HEX20[:8] - middle) < 2 * (middle == 0) + 0.5, axis=1))
        for middle in HEX20[8:]
    ]
    between = mesh.points[mesh.cells[:, np.array(ends)]].mean(axis=2)
    stray = float(np.abs(mesh.points[mesh.cells[:, 8:]] - between).max())
    if stray > _STRAY * np.ptp(mesh.points):
        raise InputError(
            key="mesh", given=f"an edge bowed by {stray:.2g} m", allowed="straight edges",
            mend="Use write_mesh and a reader that takes 20-node hexahedra.",
        )  # fmt: skip
    nodes, corners = np.unique(mesh.cells[:, _CORNERS], return_inverse=True)
    corners = corners.reshape(-1, 8)
    plain = skfem.MeshHex(np.ascontiguousarray(mesh.points[nodes].T), np.ascontiguousarray(corners.T))
    return plain.with_subdomains({name: np.asarray(cells) for name, cells in mesh.regions.items()})
