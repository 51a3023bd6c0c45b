"""A mesh for scikit-fem, so that anyone can check our matrices or go on with their own forms."""

from __future__ import annotations

from typing import Any

import numpy as np

from stickout.meshes.shape import HEX20, serendipity
from stickout.meshes.tagged import IntArray, TaggedMesh

# Our corner at each corner of scikit-fem's hexahedron: (0,0,0), (0,0,1), (0,1,0), (1,0,0), (0,1,1), ...
_CORNERS = [0, 4, 3, 1, 7, 5, 2, 6]
# Its first corner lies where all three reference coordinates are 1, so ours are 1 - 2 of its.


def curved_skfem_mesh(mesh: TaggedMesh) -> Any:  # noqa: ANN401 - scikit-fem has no types
    """Return a mesh as a ``skfem.MeshHex2``: middles of faces and cells lie where our map puts them.

    Parameters
    ----------
    mesh
        A mesh, its edges curved or straight.

    Returns
    -------
    skfem.MeshHex2
        27 points to a cell [m]; the same geometry, since our map's polynomials are among theirs.
    """
    import skfem
    from skfem.assembly import Dofs

    nodes, corners = np.unique(mesh.cells[:, _CORNERS], return_inverse=True)
    corners = np.ascontiguousarray(corners.reshape(-1, 8).T)
    plain = skfem.MeshHex(np.ascontiguousarray(mesh.points[nodes].T), corners)
    element = skfem.MeshHex2.elem()
    unknowns = Dofs(plain, element).element_dofs
    values, _ = serendipity(HEX20, 1 - 2 * element.doflocs)
    points = np.empty((3, int(unknowns.max()) + 1))
    points[:, unknowns] = np.einsum("an,cni->iac", values, mesh.points[mesh.cells])
    return skfem.MeshHex2(points, corners)


def unknowns_by_node(mesh: TaggedMesh, basis: Any) -> IntArray:  # noqa: ANN401 - scikit-fem has no types
    """Return the number of each displacement component of each node in a basis, shape (n_points, 3).

    Parameters
    ----------
    mesh
        The mesh.
    basis
        A ``skfem.Basis`` of ``ElementVector(ElementHexS2())`` over its cells.
    """
    at = 1 - 2 * basis.elem.elem.doflocs
    local = np.abs(at[:, None] - HEX20[None]).sum(axis=2).argmin(axis=1)
    place = np.full((len(mesh.points), 3), -1)
    for number, unknowns in enumerate(basis.element_dofs):
        place[mesh.cells[:, local[number // 3]], number % 3] = unknowns
    return place


def facets_of(grid: Any, mesh: TaggedMesh, *, facets: IntArray) -> IntArray:  # noqa: ANN401 - scikit-fem has no types
    """Return the numbers that facets of a mesh have in scikit-fem's, shape (n_facets,).

    Parameters
    ----------
    grid
        What ``curved_skfem_mesh`` made of the mesh.
    mesh, facets
        The mesh and the 8 nodes of each facet, four corners first.
    """
    number = np.full(len(mesh.points), -1)
    number[mesh.cells[:, _CORNERS]] = grid.t.T
    theirs = {tuple(sorted(f)): n for n, f in enumerate(grid.facets.T.tolist())}
    return np.array([theirs[tuple(sorted(f))] for f in number[facets[:, :4]].tolist()])
