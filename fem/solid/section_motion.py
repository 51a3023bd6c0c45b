"""How a section of the bar moves, in modes and at rest: what an absorber hung there feels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.solid.edge import FaceMotion, RigidFace, mean_motion
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.solid.symmetry import folded_loads
from stickout.meshes.shape import HEX20, gauss_rule, serendipity
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

_SWAPPED = (0, 2, 1, 3, 5, 4)


@dataclass(frozen=True)
class Place:
    """A place on the bar's axis.

    Attributes
    ----------
    phi
        Mass-normalised mean motion of the section there [kg^-1/2], shape (n_modes, 3).
    cross
        Static motion of the edge for unit forces spread over the section [m/N], shape (3, 3).
    static
        Static compliance of the section's mean motion [m/N], shape (3, 3).
    """

    phi: FloatArray
    cross: FloatArray
    static: FloatArray


def section_face(mesh: TaggedMesh, x: float) -> RigidFace:
    """Return the mean motion of the bar's section at a distance from the holder face.

    Parameters
    ----------
    mesh
        A swept mesh; cells of its regions ``bar`` and ``grip`` count, a wrap does not.
    x
        Distance from the holder face [m].

    Returns
    -------
    RigidFace
        Weights of the nodes of the cells that the section cuts: ``mean(u)`` over its area, so that a rigid
        motion comes back exactly, and the transpose spreads a force evenly.

    Raises
    ------
    InputError
        There is no bar at that distance.

    Source
    ------
    Gauss points on the cut of every cell, by its own shape functions (computed here).
    """
    share = np.zeros(len(mesh.points))
    for nodes, values, area, _ in _cuts(mesh, x):
        share[nodes] += area @ values
    at: IntArray = np.flatnonzero(share)
    return RigidFace(at, np.eye(3)[:, None, :] * (share[at] / share.sum())[None, :, None])


def section_rotating(mesh: TaggedMesh, x: float) -> FaceMotion:
    """Return mean motion and mean rotation of the bar's section at a distance from the holder face.

    Parameters
    ----------
    mesh
        A swept mesh.
    x
        Distance from the holder face [m].

    Raises
    ------
    InputError
        There is no bar at that distance.

    Source
    ------
    Least squares, as ``stickout.fem.solid.edge`` at the end face (computed here).
    """
    cuts = list(_cuts(mesh, x))
    total = sum(float(area.sum()) for _, _, area, _ in cuts)
    centre = np.sum([area @ points for _, _, area, points in cuts], axis=0) / total
    mean, first, inertia = np.zeros(len(mesh.points)), np.zeros((len(mesh.points), 3)), np.zeros((3, 3))
    for nodes, values, area, points in cuts:
        arm = points - centre
        mean[nodes] += area @ values / total
        first[nodes] += np.einsum("q,qi,qa->ai", area, arm, values)
        inertia += area @ (arm**2).sum(axis=1) * np.eye(3) - np.einsum("q,qi,qj->ij", area, arm, arm)
    at: IntArray = np.flatnonzero(mean)
    return mean_motion(at, centre, mean=mean[at], first=first[at], inertia=inertia)


def _cuts(mesh: TaggedMesh, x: float) -> Iterator[tuple[IntArray, FloatArray, FloatArray, FloatArray]]:
    """Yield for every cell cut at x: nodes, (20,), and at Gauss points values, (q, 20), area and place."""
    own = np.concatenate([mesh.regions[name] for name in ("bar", "grip") if name in mesh.regions])
    cells = mesh.cells[own]
    ends = mesh.points[cells[:, :8], 0]
    low, high = ends.min(axis=1), ends.max(axis=1)
    slack = 1e-9 * float(np.ptp(mesh.points[:, 0]))
    cut = np.flatnonzero((low - slack <= x) & (x < high - slack))
    if not cut.size:  # at the free end the last layer ends there
        cut = np.flatnonzero(np.abs(high - x) <= slack)
    if not cut.size:
        raise InputError(
            key="absorber.position",
            given=x,
            allowed=f"from 0 to {float(high.max()):g} m",
            mend="Measure from the holder face toward the free end.",
        )
    for cell, start, stop in zip(cells[cut], low[cut], high[cut], strict=True):
        values, area = _cell_cut(mesh.points[cell], (x - start) / (stop - start))
        yield cell, values, area, values @ mesh.points[cell]


def _cell_cut(points: FloatArray, along: float) -> tuple[FloatArray, FloatArray]:
    """Return shape functions, (q, 20), and area, (q,), at Gauss points of the cut; ``along``: 0 to 1."""
    rise = HEX20[:8].T @ points[:8, 0]  # which way x grows in the reference cell
    axis = int(np.argmax(np.abs(rise)))
    sense = np.sign(rise[axis])
    rule, order = gauss_rule(2), np.polynomial.legendre.leggauss(3)[0]
    flat = np.stack([one.ravel() for one in np.meshgrid(order, order, indexing="ij")], axis=1)
    at = np.insert(flat, axis, sense * (2.0 * along - 1.0), axis=1)
    values, gradients = serendipity(HEX20, at)
    others = [i for i in range(3) if i != axis]
    tangents = gradients[:, others] @ points
    area = np.linalg.norm(np.cross(tangents[:, 0], tangents[:, 1]), axis=1)
    return values, np.asarray(area * rule.weights)


def place_at(model: Model, modes: Modes, *, x: float, scale: float = 1.0) -> Place:
    """Return motion and static compliance of a section of a solved bar.

    Parameters
    ----------
    model
        The held bar; its factors serve again.
    modes
        Its modes.
    x
        Distance from the holder face [m].
    scale
        Factor of the compliances [-]: those in the limit of fine meshes over those of this mesh.

    Returns
    -------
    Place
        Solved, not summed from modes.

    Raises
    ------
    InputError
        There is no bar at that distance.

    Source
    ------
    Linear statics (computed here).
    """
    face = section_face(model.mesh, x)
    loads = np.concatenate([model.loads, face.spread(len(model.mesh.points))], axis=2)
    total = np.zeros((6, 6))
    own: list[FloatArray] = []
    for part in model.parts:
        if part.equal:
            own.append(own[part.equal.part][np.ix_(_SWAPPED, _SWAPPED)])
        else:
            columns = part.model.layout.gather(folded_loads(loads, part.images))
            own.append(columns.T @ part.model.inverse.solve(columns))
        total += own[-1]
    total = scale * (total + total.T) / 2
    phi = face.motion(modes.shapes.transpose(1, 2, 0)).T
    return Place(phi, total[:3, 3:], total[3:, 3:])
