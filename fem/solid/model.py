"""A held bar ready to be solved: matrices, order of the unknowns, factor, mass."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp

from stickout.fem.errors import InputError
from stickout.fem.solid.block_cholesky import USUAL, ChainFactor, Limits, factor_chain
from stickout.fem.solid.edge import RigidFace, rigid_face
from stickout.fem.solid.elasticity import CellMatrices, Elastic, cell_matrices
from stickout.fem.solid.layout import Layout, chain_layout
from stickout.fem.solid.slab import Assembly, Ties
from stickout.fem.solid.supports import Spring, bed, held_nodes, joint
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

if TYPE_CHECKING:
    from stickout.fem.solid.symmetry import Part
    from stickout.fem.solid.two_level import TwoLevel

_CHUNK = 4096
_Maker = Callable[[TaggedMesh, Spring], Ties]


@dataclass(frozen=True)
class Support:
    """What holds the mesh: patches held still; springs to the ground, joints between bodies, by name."""

    held: Sequence[str] = ()
    springs: Mapping[str, Spring] = field(default_factory=dict)
    joints: Mapping[str, Spring] = field(default_factory=dict)


@dataclass(frozen=True)
class Added:
    """Mass that is no cell: a point mass at the edge [kg], and layers on the skin.

    ``skins`` are pairs of the nodes of facets, (n, 8), and their mass matrices [kg], (n, 8, 8).
    """

    edge_mass: float = 0.0
    skins: Sequence[tuple[IntArray, FloatArray]] = ()


@dataclass(frozen=True)
class Model:
    """A mesh with its matrices; factor and mass are made when first asked for.

    Attributes
    ----------
    mesh, matrices
        The mesh and its element matrices.
    ties
        Stiffness that is no cell, by name.
    held
        Components that are held still, shape (n_points, 3).
    face
        How the edge follows the end face.
    loads
        Nodal loads of unit forces at the edge along x, y, z, shape (n_points, 3, 3).
    added
        Mass that is no cell.
    shift
        How much of the cells' mass is added to the stiffness before it is factored [1/s^2].
    kin
        A model of the same cells and skins, held otherwise, whose mass matrix serves for this one too.
    limits
        Up to where it is factored; past them it is solved by iteration.
    """

    mesh: TaggedMesh
    matrices: CellMatrices
    ties: Mapping[str, Ties]
    held: BoolArray
    face: RigidFace
    loads: FloatArray
    added: Added = Added()
    shift: float = 0.0
    kin: Model | None = None
    limits: Limits = USUAL

    @cached_property
    def layout(self) -> Layout:
        """Return the order of the unknowns."""
        return chain_layout(self.mesh, self.held, ties=[t.nodes for t in self.ties.values()])

    @cached_property
    def parts(self) -> list[Part]:
        """Return the parts the model falls into by symmetry, the whole alone without any."""
        # Here, because a part holds a model of its own: the two modules know each other.
        from stickout.fem.solid.symmetry import parts_of

        return parts_of(self)

    @property
    def assembly(self) -> Assembly:
        """Return what the stiffness is summed from."""
        return Assembly(self.mesh.cells, self.matrices, list(self.ties.values()), self.layout, self.shift)

    @cached_property
    def factor(self) -> ChainFactor:
        """Return the factored stiffness."""
        return factor_chain(self.assembly)

    @cached_property
    def two_level(self) -> TwoLevel:
        """Return the stiffness with an approximate inverse, for when the factor would be too large."""
        # Here, because it takes a model: the two modules know each other.
        from stickout.fem.solid.two_level import TwoLevel

        return TwoLevel(self)

    @property
    def direct(self) -> bool:
        """Return whether it is factored."""
        return self.limits.allow(self.layout)

    @property
    def inverse(self) -> ChainFactor | TwoLevel:
        """Return what solves for columns: the factor, or the iteration where that would be too large."""
        return self.factor if self.direct else self.two_level

    @cached_property
    def own_compliance(self) -> FloatArray:
        """Return the motion of the edge under the loads that this model has of it [m/N], shape (3, 3)."""
        moved = self.inverse.solve(self.edge_loads)
        compliance = self.edge_loads.T @ moved
        if self.direct:
            return compliance
        # So that what an iteration leaves enters squared, between unlike directions too.
        return compliance + compliance.T - moved.T @ self.two_level.apply(moved)

    def let_go(self) -> None:
        """Forget the factor, or what stands in for it, here and in the parts; it can be made again."""
        for known in ("factor", "two_level"):
            self.__dict__.pop(known, None)
        for part in self.__dict__.get("parts", ()):
            if part.model is not self:
                part.model.let_go()

    @cached_property
    def scalar_mass(self) -> sp.csr_array:
        """Return the mass matrix [kg] of one displacement component, shape (n_points, n_points)."""
        if self.kin is not None:
            return self.kin.scalar_mass
        groups = [(self.mesh.cells, self.matrices.scalar_mass()), *self.added.skins]
        return mass_matrix(groups, len(self.mesh.points))

    @cached_property
    def edge_loads(self) -> FloatArray:
        """Return unit forces at the edge along x, y, z, shape (n_unknowns, 3)."""
        return self.layout.gather(self.loads)

    def apply_mass(self, columns: FloatArray) -> FloatArray:
        """Return M times columns, both of shape (n_unknowns, n)."""
        product = self.layout.through(self.scalar_mass, columns)
        if self.added.edge_mass:
            product += self.edge_loads @ (self.added.edge_mass * (self.edge_loads.T @ columns))
        return product

    def apply_stiffness(self, columns: FloatArray) -> FloatArray:
        """Return K times columns, both of shape (n_unknowns, n)."""
        return self.weighted_stiffness(columns, dict.fromkeys([*self.mesh.regions, *self.ties], 1.0))

    def weighted_stiffness(self, columns: FloatArray, weights: Mapping[str, float]) -> FloatArray:
        """Return the sum of ``weights[j] K_j`` over regions and ties, times columns (n_unknowns, n)."""
        moved = self.layout.spread(columns)
        force = np.zeros_like(moved)
        for name, nodes, stiffness in self._groups():
            u = moved[nodes]
            f = np.matmul(stiffness, u.reshape(len(u), -1, u.shape[-1])) * weights[name]
            np.add.at(force, nodes, f.reshape(u.shape))
        return self.layout.gather(force)

    def energies(self, shapes: FloatArray) -> dict[str, FloatArray]:
        """Return the strain energy [J] of shapes (n_points, 3, n) in every region and tie, (n,) each."""
        out = {name: np.zeros(shapes.shape[2]) for name in [*self.mesh.regions, *self.ties]}
        for name, nodes, stiffness in self._groups():
            u = shapes[nodes].reshape(len(nodes), -1, shapes.shape[2])
            out[name] += np.einsum("gin,gin->n", u, np.matmul(stiffness, u)) / 2
        return out

    def skin_shares(self, shapes: FloatArray) -> FloatArray:
        """Return the share of the skins' mass in the kinetic energy of mass-normalised shapes, (n,)."""
        total = np.zeros(shapes.shape[2])
        for nodes, mass in self.added.skins:
            total += np.einsum("fain,fab,fbin->n", shapes[nodes], mass, shapes[nodes], optimize=True)
        return total

    def _groups(self) -> Iterator[tuple[str, IntArray, FloatArray]]:
        """Yield region or tie, nodes and stiffness of all groups, a few thousand cells at a time."""
        for name, cells in self.mesh.regions.items():
            for start in range(0, len(cells), _CHUNK):
                pick = cells[start : start + _CHUNK]
                yield name, self.mesh.cells[pick], self.matrices.stiffness(pick)
        for name, tie in self.ties.items():
            yield name, tie.nodes, tie.stiffness


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


def mass_matrix(groups: Sequence[tuple[IntArray, FloatArray]], n_points: int) -> sp.csr_array:
    """Return the sum of scalar mass matrices of groups of nodes [kg].

    Parameters
    ----------
    groups
        Nodes, shape (n, k), with their matrices, shape (n, k, k).
    n_points
        Nodes of the mesh.

    Returns
    -------
    csr_array
        Of one displacement component, shape (n_points, n_points).
    """
    rows = np.concatenate([np.repeat(nodes, nodes.shape[1], axis=1).ravel() for nodes, _ in groups])
    columns = np.concatenate([np.tile(nodes, (1, nodes.shape[1])).ravel() for nodes, _ in groups])
    values = np.concatenate([mass.ravel() for _, mass in groups])
    return sp.coo_array((values, (rows, columns)), shape=(n_points, n_points)).tocsr()
