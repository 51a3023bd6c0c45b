"""A held bar ready to be solved, whole and by its mirror images; and how it is built from a mesh."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.solid.body import Added
from stickout.fem.solid.edge import rigid_face
from stickout.fem.solid.elasticity import Elastic, cell_matrices
from stickout.fem.solid.slab import Ties
from stickout.fem.solid.solvable import Solvable
from stickout.fem.solid.supports import Spring, bed, held_nodes, joint
from stickout.fem.solid.symmetry import Part, parts_of
from stickout.meshes.tagged import TaggedMesh

_Maker = Callable[[TaggedMesh, Spring], Ties]


@dataclass(frozen=True)
class Support:
    """What holds the mesh: patches held still; springs to the ground, joints between bodies, by name."""

    held: Sequence[str] = ()
    springs: Mapping[str, Spring] = field(default_factory=dict)
    joints: Mapping[str, Spring] = field(default_factory=dict)


@dataclass(frozen=True)
class Model(Solvable):
    """A held bar: what can be solved, and the halves or quarters it is solved by."""

    @cached_property
    def parts(self) -> list[Part]:
        """Return the parts the model falls into by symmetry, the whole alone without any."""
        return parts_of(self)

    def let_go(self) -> None:
        """Forget the factor, or what stands in for it, here and in the parts; it can be made again."""
        super().let_go()
        for part in self.__dict__.get("parts", ()):
            if part.model is not self:
                part.model.let_go()


def held_model(
    mesh: TaggedMesh, materials: Mapping[str, Elastic], *, support: Support, added: Added | None = None
) -> Model:
    """Return the model of a mesh that is held.

    Parameters
    ----------
    mesh
        The mesh.
    materials
        A material for every region.
    support
        What holds it; with nothing a small part of the mass is added to the stiffness, so that the
        free body's rigid motions come out as modes of frequency zero.
    added
        Mass that is no cell.

    Returns
    -------
    Model
        Ready to be solved.

    Raises
    ------
    InputError
        A point mass on a body that is held nowhere; a region without a material.
    """
    free = not support.held and not support.springs
    if free and added is not None and added.edge_mass:
        raise InputError(
            key="edge.mass_g",
            given=1e3 * added.edge_mass,
            allowed="0 for a body that is held nowhere",
            mend="Hold the bar, or leave the point mass out.",
        )
    matrices = cell_matrices(mesh, materials)
    ties = {name: make(mesh, spring) for name, (make, spring) in _ties_of(support).items()}
    speed = max(np.sqrt(m.youngs_modulus / m.density) for m in materials.values())
    face = rigid_face(mesh)
    return Model(
        mesh=mesh,
        matrices=matrices,
        ties=ties,
        held=held_nodes(mesh, support.held),
        face=face,
        loads=face.spread(len(mesh.points)),
        added=added or Added(),
        shift=float((0.3 * speed / np.ptp(mesh.points, axis=0).max()) ** 2) if free else 0.0,
    )


def tie_layers(mesh: TaggedMesh, support: Support) -> dict[str, tuple[Ties, Ties]]:
    """Return the normal and the shear part of every bed and joint, by name."""
    return {
        name: (make(mesh, replace(spring, shear=0.0)), make(mesh, replace(spring, normal=0.0)))
        for name, (make, spring) in _ties_of(support).items()
    }


def _ties_of(support: Support) -> dict[str, tuple[_Maker, Spring]]:
    """Return how each bed and joint is made, and of which spring."""
    beds: dict[str, tuple[_Maker, Spring]] = {n: (bed, spring) for n, spring in support.springs.items()}
    return beds | {n: (joint, spring) for n, spring in support.joints.items()}
