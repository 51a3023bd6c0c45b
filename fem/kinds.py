"""What kind of motion a mode is: bending, torsion, axial, breathing or mixed."""

from __future__ import annotations

import numpy as np

from meshes.tagged import FloatArray, IntArray, TaggedMesh

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
    shares = kind_shares(mesh, shapes)
    best = np.argmax(shares, axis=1)
    return [KINDS[b] if row[b] >= _CLEAR else "mixed" for b, row in zip(best, shares, strict=True)]


def kind_shares(mesh: TaggedMesh, shapes: FloatArray) -> FloatArray:
    """Return the share of each of ``KINDS`` in the squared motion of each mode, shape (n_modes, 4)."""
    nodes, weight = _node_weights(mesh)
    at, moved = mesh.points[nodes], shapes[:, nodes]
    plane = np.unique(np.round(at[:, 0] / np.ptp(at[:, 0]), 9), return_inverse=True)[1]
    total = np.bincount(plane, weight)

    def mean(values: FloatArray) -> FloatArray:
        """Return the weighted mean over each plane of values (n_modes, n_nodes)."""
        sums = [np.bincount(plane, weight * row) for row in values]
        result: FloatArray = np.array(sums) / total
        return result

    y = at[:, 1] - mean(at[None, :, 1])[0][plane]
    z = at[:, 2] - mean(at[None, :, 2])[0][plane]
    yy, zz, yz = mean(np.stack([y * y, z * z, y * z]))
    ux, uy, uz = moved.transpose(2, 0, 1)
    along, side, up = mean(ux), mean(uy), mean(uz)
    ux_y, ux_z = mean(ux * y), mean(ux * z)
    det = yy * zz - yz**2
    tilt_y, tilt_z = (ux_y * zz - ux_z * yz) / det, (ux_z * yy - ux_y * yz) / det
    twist = mean(uz * y - uy * z) / (yy + zz)
    bending = side**2 + up**2 + tilt_y**2 * yy + tilt_z**2 * zz + 2 * tilt_y * tilt_z * yz
    parts = np.stack([bending, twist**2 * (yy + zz), along**2]) @ total
    whole = (moved**2).sum(axis=2) @ weight
    shares: FloatArray = np.vstack([parts, whole - parts.sum(axis=0)]).T / whole[:, None]
    return shares


def _node_weights(mesh: TaggedMesh) -> tuple[IntArray, FloatArray]:
    """Return the nodes of the overhanging bar and a volume for each, from its cells' boxes."""
    cells = mesh.cells[mesh.regions["bar"]]
    corner = mesh.points[cells[:, [0, 1, 3, 4]]]
    edges = corner[:, 1:] - corner[:, :1]
    volume = np.abs(np.linalg.det(edges))
    weight = np.asarray(np.bincount(cells.ravel(), np.repeat(volume / 20, 20)), dtype=float)
    nodes = np.flatnonzero(weight)
    return nodes, weight[nodes]
