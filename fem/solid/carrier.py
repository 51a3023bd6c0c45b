"""A held body that rides on a heavy, sprung carrier: six more unknowns in place of a new mesh.

What holds the body moves as one rigid piece with the carrier. Its motion relative to that is made of the
modes of the body held still; the inertia of the whole ride is exact, so is every static compliance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.solid.edge import carried
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.meshes.tagged import FloatArray

CARRIER = "post"


@dataclass(frozen=True)
class Carrier:
    """A rigid piece on springs.

    Attributes
    ----------
    at
        Where its springs act, its middle of mass too [m], shape (3,).
    root
        Motion of that place, translations [m] and rotations [rad], for each of its k free motions stretched
        to an energy of 1/2 J: ``root root^T`` is the compliance, shape (6, k).
    mass, inertia
        Its own mass [kg] and moment of inertia about any axis [kg m^2].
    """

    at: FloatArray
    root: FloatArray
    mass: float
    inertia: float

    @property
    def own_mass(self) -> FloatArray:
        """Return its own mass matrix over its free motions, shape (k, k)."""
        return np.asarray((self.root.T * np.repeat([self.mass, self.inertia], 3)) @ self.root)

    def turned(self, turn: FloatArray) -> Carrier:
        """Return the carrier as seen from a frame turned by a matrix (3, 3)."""
        both = np.kron(np.eye(2), turn)
        return replace(self, at=turn @ self.at, root=both @ self.root)

    def motion(self, points: FloatArray) -> FloatArray:
        """Return how points (n, 3) [m] ride with each of its motions, shape (n, 3, k)."""
        return np.asarray(carried(points - self.at) @ self.root)


def edge_compliance(model: Model, carrier: Carrier) -> FloatArray:
    """Return what the carrier adds to the static compliance at the edge [m/N], shape (3, 3)."""
    edge = model.face.motion(carrier.motion(model.mesh.points))
    return np.asarray(edge @ edge.T)


def carried_modes(model: Model, modes: Modes, *, carrier: Carrier) -> Modes:
    """Return the modes of a held body together with its carrier.

    Parameters
    ----------
    model
        The held body.
    modes
        Its n lowest modes, held still.
    carrier
        What it rides on, with k free motions.

    Returns
    -------
    Modes
        ``n + k`` modes of the motion in space, mass-normalised; ``energy`` tells also that of the carrier's
        springs, under ``CARRIER``.

    Source
    ------
    Fixed-interface modes and rigid motions: Hurty, AIAA J. 3 (1965) 678; Craig & Bampton, AIAA J. 6 (1968)
    1313 (both recalled, not opened).
    """
    ride = carrier.motion(model.mesh.points)
    n_points, _, k = ride.shape
    pushed = np.asarray(model.scalar_mass @ ride.reshape(n_points, -1)).reshape(ride.shape)
    point, edge = model.added.edge_mass, model.face.motion(ride)
    inner = np.tensordot(ride, pushed, axes=([0, 1], [0, 1])) + point * edge.T @ edge
    inner = inner + carrier.own_mass
    cross = np.tensordot(modes.shapes, pushed, axes=([1, 2], [0, 1])) + point * modes.edge @ edge
    cross = cross / modes.omega[:, None]
    # Scaled to a stiffness of one: an all but rigid carrier gives rows of all but nothing, no large numbers.
    squared, turn = np.linalg.eigh(np.block([[inner, cross.T], [cross, np.diag(modes.omega**-2.0)]]))
    omega, turn = squared[::-1] ** -0.5, turn[:, ::-1]
    ridden, relative = turn[:k] * omega, turn[k:] * omega / modes.omega[:, None]
    moved = np.tensordot(relative.T, modes.shapes, axes=1)
    energy = _energies(model, modes, relative, moved=moved)
    return Modes(
        frequency_hz=omega / (2 * np.pi),
        drawn=moved + np.moveaxis(ride @ ridden, 2, 0),
        edge=relative.T @ modes.edge + (edge @ ridden).T,
        energy={**energy, CARRIER: 0.5 * (ridden**2).sum(axis=0)},
        residual=np.sqrt(turn[k:].T ** 2 @ modes.residual**2),
        part=np.zeros(len(omega), dtype=np.int64),
    )


def _energies(
    model: Model, modes: Modes, relative: FloatArray, *, moved: FloatArray
) -> Mapping[str, FloatArray]:
    """Return the strain energy [J] in every region and tie of motions made of modes."""
    names = list(modes.energy)
    if len(names) == 1:
        return {names[0]: 0.5 * modes.omega**2 @ relative**2}
    return model.energies(moved.transpose(1, 2, 0))
