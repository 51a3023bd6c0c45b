"""The edge rides rigidly on the mean translation and mean rotation of the end face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.meshes.shape import gauss_rule
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh


@dataclass(frozen=True)
class RigidFace:
    """How the edge follows the end face, and how a force at the edge is spread over it.

    Attributes
    ----------
    nodes
        Nodes of the end face, shape (n,).
    weights
        Motion of the edge from the motion of the nodes: ``u_edge[i] = sum weights[i, a, j] u[a, j]``;
        shape (3, n, 3). Its transpose spreads a force.
    """

    nodes: IntArray
    weights: FloatArray

    def motion(self, shapes: FloatArray) -> FloatArray:
        """Return the motion of the edge under nodal shapes (n_points, 3, n), shape (3, n)."""
        moved: FloatArray = np.einsum("iaj,ajm->im", self.weights, shapes[self.nodes])
        return moved

    def spread(self, n_points: int) -> FloatArray:
        """Return nodal loads of unit forces along x, y, z at the edge, shape (n_points, 3, 3)."""
        loads = np.zeros((n_points, 3, 3))
        loads[self.nodes] = self.weights.transpose(1, 2, 0)
        return loads


def rigid_face(mesh: TaggedMesh) -> RigidFace:
    """Return the map between the edge and the end face.

    ``u_edge = mean(u) + w x (r_edge - r_face)`` with ``w`` the least-squares rotation of the face.

    Parameters
    ----------
    mesh
        Its patch ``end`` and its point ``edge`` are used.

    Returns
    -------
    RigidFace
        Weights that give a rigid motion of the face back exactly.

    Source
    ------
    Least squares; computed here.
    """
    face = face_motion(mesh)
    return RigidFace(face.nodes, np.einsum("ij,jak->iak", face.carried(mesh.edge), face.weights))


@dataclass(frozen=True)
class FaceMotion:
    """Mean translation and mean rotation of the end face.

    Attributes
    ----------
    nodes
        Nodes of the end face, shape (n,).
    weights
        Translation along and rotation about x, y, z from the motion of the nodes, shape (6, n, 3).
    centre
        Middle of the face [m], shape (3,).
    """

    nodes: IntArray
    weights: FloatArray
    centre: FloatArray

    def carried(self, edge: FloatArray) -> FloatArray:
        """Return the motion of a point [m] that rides on the face, from the six, shape (3, 6)."""
        return np.asarray(carried((edge - self.centre)[None])[0])

    def spread(self, n_points: int) -> FloatArray:
        """Return nodal loads of unit forces and unit moments on the face, shape (n_points, 3, 6)."""
        loads = np.zeros((n_points, 3, 6))
        loads[self.nodes] = self.weights.transpose(1, 2, 0)
        return loads


def carried(lever: FloatArray) -> FloatArray:
    """Return the motion at the end of levers [m], (n, 3), from translation and rotation there, (n, 3, 6)."""
    still = np.broadcast_to(np.eye(3), (len(lever), 3, 3))
    return np.concatenate([still, -_cross(lever)], axis=2)


def face_motion(mesh: TaggedMesh) -> FaceMotion:
    """Return the mean motion of the end face of a mesh.

    ``w = J^-1 integral (r - r_face) x u dA``, ``J = integral (|r|^2 I - r r^T) dA``.

    Source
    ------
    Least squares; computed here.
    """
    facets = mesh.patches["end"]
    rule = gauss_rule(2)
    corner = mesh.points[facets]
    tangents = np.matmul(rule.gradients, corner[:, None])
    area = np.linalg.norm(np.cross(tangents[:, :, 0], tangents[:, :, 1]), axis=2) * rule.weights
    at = rule.values @ corner
    total = area.sum()
    centre = np.einsum("fq,fqi->i", area, at) / total
    arm = at - centre
    inertia = np.einsum("fq,fqk,fqk->", area, arm, arm) * np.eye(3) - np.einsum(
        "fq,fqi,fqj->ij", area, arm, arm
    )
    share = np.einsum("fq,qa->fa", area, rule.values)
    moment = np.einsum("fq,fqi,qa->fai", area, arm, rule.values)
    nodes, place = np.unique(facets, return_inverse=True)
    mean, first = np.zeros(len(nodes)), np.zeros((len(nodes), 3))
    np.add.at(mean, place.ravel(), share.ravel())
    np.add.at(first, place.ravel(), moment.reshape(-1, 3))
    return mean_motion(nodes, centre, mean=mean / total, first=first, inertia=inertia)


def mean_motion(
    nodes: IntArray, centre: FloatArray, *, mean: FloatArray, first: FloatArray, inertia: FloatArray
) -> FaceMotion:
    """Return the mean motion of a face from its integrals.

    Parameters
    ----------
    nodes, centre
        Its nodes, shape (n,); its middle [m], shape (3,).
    mean
        Share of each node's shape function in the area [-], shape (n,).
    first
        Its first moment about the middle [m^3], shape (n, 3).
    inertia
        ``integral (|r|^2 I - r r^T) dA`` [m^4], shape (3, 3).

    Source
    ------
    Least squares; computed here.
    """
    # (r x u)_i = eps_ijk r_j u_k, so its weight on u_k is the cross matrix of the first moment.
    rotation = np.linalg.solve(inertia, _cross(first).transpose(1, 0, 2).reshape(3, -1)).reshape(
        3, len(nodes), 3
    )
    translation = np.eye(3)[:, None] * mean[None, :, None]
    return FaceMotion(nodes, np.concatenate([translation, rotation]), centre)


def _cross(vectors: FloatArray) -> FloatArray:
    """Return the matrices that take u to v x u, shape (n, 3, 3)."""
    out = np.zeros((len(vectors), 3, 3))
    x, y, z = vectors.T
    out[:, 0, 1], out[:, 0, 2] = -z, y
    out[:, 1, 0], out[:, 1, 2] = z, -x
    out[:, 2, 0], out[:, 2, 1] = -y, x
    return out
