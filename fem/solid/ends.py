"""A body held at its root that stands on springs there and at its far end, its edge anywhere between.

The held body's modes, its static answers to loads at edge and far end, and the rigid ride of its root:
statics at the edge are those of the mesh, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.lapack import dsygvd
from stickout.fem.solid.edge import RigidFace, carried, face_motion
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.solid.section_motion import section_rotating
from stickout.fem.solid.symmetry import folded_loads
from stickout.meshes.tagged import FloatArray

ENDS: Final = "ends"
_SAME: Final = 1e-9
_ACROSS: Final = (1, 2)


@dataclass(frozen=True)
class Ends:
    """Springs of the two ends, alike in all directions across the bar.

    Attributes
    ----------
    root, tilt
        Of the root, across the axis [N/m] and against tilting [N m/rad]; inf holds it still.
    far
        Of the far end, across the axis [N/m].
    """

    root: float
    tilt: float
    far: float


def with_edge_at(model: Model, x: float) -> Model:
    """Return a body whose edge rides on the section at a distance from its root [m], not on its end face.

    Source
    ------
    Least-squares motion of the section (computed here).
    """
    section = section_rotating(model.mesh, x)
    face = RigidFace(
        section.nodes, np.einsum("ij,jak->iak", section.carried(model.mesh.edge), section.weights)
    )
    return replace(model, face=face, loads=face.spread(len(model.mesh.points)))


def on_ends(model: Model, modes: Modes, *, ends: Ends, wanted: int) -> tuple[Modes, FloatArray]:
    """Return modes, and static compliance at the edge [m/N], (3, 3), of a body on the springs of its ends.

    Parameters
    ----------
    model
        The body, its root held still.
    modes
        Its modes, some more than are wanted.
    ends
        The springs.
    wanted
        How many modes to return.

    Raises
    ------
    SolveError
        The stiffness is not positive: nothing holds it against a motion.

    Source
    ------
    Ritz: modes held still, rigid ride, and attachment modes: Hurty 1965; Craig & Bampton 1968 (recalled, not
    opened).
    """
    n_points = len(model.mesh.points)
    far = face_motion(model.mesh).spread(n_points)[:, :, _ACROSS]
    bent = static_answers(model, np.concatenate([model.loads, far], axis=2))
    free = [(axis, ends.root) for axis in (1, 2)] + [(axis, ends.tilt) for axis in (4, 5)]
    free = [(axis, spring) for axis, spring in free if not np.isinf(spring)]
    ride = np.asarray(carried(model.mesh.points)[:, :, [axis for axis, _ in free]])
    space = np.concatenate([modes.shapes.transpose(1, 2, 0), bent, ride], axis=2)
    strain = _strain(model, modes, space, far=far, ridden=len(free))
    leaned = np.tensordot(far, space, axes=([0, 1], [0, 1]))
    sprung = ends.far * leaned.T @ leaned
    sprung[range(-len(free), 0), range(-len(free), 0)] += [spring for _, spring in free]
    edge = model.face.motion(space)
    mass = mass_over(model, space) + model.added.edge_mass * edge.T @ edge
    turn = independent(mass)
    stiffness, mass = (turn.T @ one @ turn for one in (strain + sprung, mass))
    square, shapes, fault = dsygvd(stiffness, mass)
    if fault:
        raise SolveError("The bar is all but loose between its two ends.")
    mixed = (turn @ shapes)[:, :wanted]
    compliance = (edge @ turn) @ np.linalg.solve(stiffness, (edge @ turn).T)
    still = mixed.copy()
    still[-len(free) :] = 0.0
    found = Modes(
        frequency_hz=np.sqrt(np.maximum(square[:wanted], 0.0)) / (2 * np.pi),
        drawn=np.moveaxis(space @ mixed, 2, 0),
        edge=(edge @ mixed).T,
        energy={
            **_regions(model, space @ still, strain=_halves(strain, mixed)),
            ENDS: _halves(sprung, mixed),
        },
        residual=np.full(wanted, modes.residual.max()),
        part=np.zeros(wanted, dtype=np.int64),
    )
    return found, (compliance + compliance.T) / 2


def static_answers(model: Model, loads: FloatArray) -> FloatArray:
    """Return how a held body answers loads (n_points, 3, n), the same shape [m]."""
    out = np.zeros_like(loads)
    for part in model.parts:
        folded = folded_loads(loads, part.images)
        if np.abs(folded).max() > _SAME * np.abs(loads).max():
            moved = part.model.inverse.solve(part.model.layout.gather(folded))
            out += part.whole(moved, len(out))
    return out


def mass_over(model: Model, space: FloatArray) -> FloatArray:
    """Return the mass of a body over shapes (n_points, 3, n), shape (n, n)."""
    pushed = np.asarray(model.scalar_mass @ space.reshape(len(space), -1)).reshape(space.shape)
    return np.asarray(np.tensordot(space, pushed, axes=([0, 1], [0, 1])))


def independent(mass: FloatArray) -> FloatArray:
    """Return combinations of shapes that are none of each other, as columns."""
    scale = np.diag(mass) ** -0.5
    size, turn = np.linalg.eigh(scale[:, None] * mass * scale)
    return np.asarray(scale[:, None] * turn[:, size > _SAME])


def _strain(model: Model, modes: Modes, space: FloatArray, *, far: FloatArray, ridden: int) -> FloatArray:
    """Return the stiffness of the held body over modes, static answers and ride, which strains nothing.

    A static answer does the work of its load: its energy with any shape is the motion of the load's place.
    """
    n, total = len(modes.omega), space.shape[2]
    loads = np.concatenate([model.loads, far], axis=2)
    moved = np.tensordot(loads, space[:, :, : total - ridden], axes=([0, 1], [0, 1]))
    out = np.zeros((total, total))
    out[:n, :n] = np.diag(modes.omega**2)
    out[n : total - ridden, : total - ridden] = moved
    out[:n, n : total - ridden] = moved[:, :n].T
    return (out + out.T) / 2


def _halves(matrix: FloatArray, columns: FloatArray) -> FloatArray:
    """Return half the quadratic form of each column."""
    return np.asarray(0.5 * np.einsum("in,ij,jn->n", columns, matrix, columns))


def _regions(model: Model, shapes: FloatArray, *, strain: FloatArray) -> dict[str, FloatArray]:
    """Return the strain energy [J] of shapes in every region."""
    names = [*model.mesh.regions, *model.ties]
    return {names[0]: strain} if len(names) == 1 else dict(model.energies(shapes))
