"""What kind of motion a mode is: bending, torsion, axial, breathing or mixed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

KINDS = ("bending", "torsion", "axial", "breathing")
# A mode is of a kind when this share of its motion is; otherwise it is mixed (own choice).
_CLEAR = 0.7


def mode_kinds(mesh: TaggedMesh, shapes: FloatArray) -> list[str]:
    """Return the kind of each mode, from how the sections of the overhanging bar move.

    Every plane of the bar is split into its rigid motion (sideways and tilt: bending; turn about the
    bar: torsion; along: axial) and the rest, which changes the section's form: breathing.

    Parameters
    ----------
    mesh
        The mesh; its region ``bar`` is looked at.
    shapes
        Motion of the nodes, shape (n_modes, n_points, 3).

    Returns
    -------
    list of str
        One of ``KINDS``, or ``mixed`` where none has a clear majority.
    """
    return named_kinds(kind_shares(mesh, shapes))


def kind_shares(mesh: TaggedMesh, shapes: FloatArray) -> FloatArray:
    """Return the share of each of ``KINDS`` in the squared motion of each mode, shape (n_modes, 4)."""
    planes = plane_motions(mesh, shapes)
    whole = (shapes[:, planes.nodes] ** 2).sum(axis=2) @ planes.weight
    return shares_of((planes.motion**2).transpose(0, 2, 1) @ planes.total, whole)


def shares_of(squares: FloatArray, whole: FloatArray) -> FloatArray:
    """Return the share of each of ``KINDS``, shape (n, 4).

    Parameters
    ----------
    squares
        Squared motion of the planes in the six ways of ``PlaneMotions``, summed over the bar, shape (n, 6).
    whole
        Squared motion in all, shape (n,).
    """
    bending, torsion, axial = squares[:, :4].sum(axis=1), squares[:, 4], squares[:, 5]
    parts = np.stack([bending, torsion, axial, whole - squares.sum(axis=1)])
    shares: FloatArray = parts.T / whole[:, None]
    return shares


def named_kinds(shares: FloatArray) -> list[str]:
    """Return the kind of each row of shares (n, 4)."""
    best = np.argmax(shares, axis=1)
    return [KINDS[b] if row[b] >= _CLEAR else "mixed" for b, row in zip(best, shares, strict=True)]


@dataclass(frozen=True)
class PlaneMotions:
    """How every plane of the overhanging bar moves as a rigid one.

    Attributes
    ----------
    motion
        Sideways, up, two tilts, twist, along, each scaled so that the mean squared motion of the plane is
        the sum of squares; linear in the shape; (n_shapes, n_planes, 6).
    total
        Volume that each plane stands for, shape (n_planes,).
    nodes, weight
        Nodes of the bar and a volume for each, shape (n_nodes,).
    plane
        Plane of each node, shape (n_nodes,).
    """

    motion: FloatArray
    total: FloatArray
    nodes: IntArray
    weight: FloatArray
    plane: IntArray


def plane_motions(mesh: TaggedMesh, shapes: FloatArray) -> PlaneMotions:
    """Return the rigid motions of the planes of the overhanging bar under shapes (n_shapes, n_points, 3)."""
    nodes, weight = node_weights(mesh)
    at, moved = mesh.points[nodes], shapes[:, nodes]
    plane = np.unique(np.round(at[:, 0] / np.ptp(at[:, 0]), 9), return_inverse=True)[1]
    total = np.asarray(np.bincount(plane, weight), dtype=float)

    def mean(values: FloatArray) -> FloatArray:
        """Return the weighted mean over each plane of values (n_shapes, n_nodes)."""
        sums = [np.bincount(plane, weight * row) for row in values]
        result: FloatArray = np.array(sums) / total
        return result

    y = at[:, 1] - mean(at[None, :, 1])[0][plane]
    z = at[:, 2] - mean(at[None, :, 2])[0][plane]
    yy, zz, yz = mean(np.stack([y * y, z * z, y * z]))
    ux, uy, uz = moved.transpose(2, 0, 1)
    ux_y, ux_z = mean(ux * y), mean(ux * z)
    det = yy * zz - yz**2
    tilt_y, tilt_z = (ux_y * zz - ux_z * yz) / det, (ux_z * yy - ux_y * yz) / det
    twist = mean(uz * y - uy * z) / np.sqrt(yy + zz)
    # tilt^T [[yy, yz], [yz, zz]] tilt as a sum of two squares.
    first, second = tilt_y * np.sqrt(yy) + tilt_z * yz / np.sqrt(yy), tilt_z * np.sqrt(det / yy)
    motion = np.stack([mean(uy), mean(uz), first, second, twist, mean(ux)], axis=2)
    return PlaneMotions(motion, total, nodes, weight, plane)


def node_weights(mesh: TaggedMesh) -> tuple[IntArray, FloatArray]:
    """Return the nodes of the overhanging bar and a volume for each, from its cells' boxes."""
    cells = mesh.cells[mesh.regions["bar"]]
    corner = mesh.points[cells[:, [0, 1, 3, 4]]]
    edges = corner[:, 1:] - corner[:, :1]
    volume = np.abs(np.linalg.det(edges))
    weight = np.asarray(np.bincount(cells.ravel(), np.repeat(volume / 20, 20)), dtype=float)
    nodes = np.flatnonzero(weight)
    return nodes, weight[nodes]
