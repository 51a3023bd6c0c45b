"""A held bar ready to be solved: matrices, order of the unknowns, factor, mass."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import scipy.sparse as sp

from fem.chain import ChainFactor, factor_chain
from fem.edge import RigidFace, rigid_face
from fem.elasticity import CellMatrices, Elastic, cell_matrices
from fem.layout import Layout, chain_layout
from fem.slab import Assembly, Ties
from fem.supports import Spring, bed, held_nodes, joint
from meshes.tagged import FloatArray, IntArray, TaggedMesh

_CHUNK = 4096


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
    """A mesh with its matrices; the factor and the mass are made when first asked for.

    Attributes
    ----------
    mesh, matrices
        The mesh and its element matrices.
    ties
        Stiffness that is no cell, by name.
    layout
        The order of the unknowns.
    face
        How the edge follows the end face.
    added
        Mass that is no cell.
    shift
        How much of the cells' mass is added to the stiffness before it is factored [1/s^2].
    """

    mesh: TaggedMesh
    matrices: CellMatrices
    ties: Mapping[str, Ties]
    layout: Layout
    face: RigidFace
    added: Added = Added()
    shift: float = 0.0

    @cached_property
    def factor(self) -> ChainFactor:
        """Return the factored stiffness."""
        ties = list(self.ties.values())
        return factor_chain(Assembly(self.mesh.cells, self.matrices, ties, self.layout, self.shift))

    @cached_property
    def scalar_mass(self) -> sp.csr_array:
        """Return the mass matrix [kg] of one displacement component, free nodes in their order."""
        groups = [(self.mesh.cells, self.matrices.scalar_mass()), *self.added.skins]
        rows, columns, values = [], [], []
        for nodes, mass in groups:
            rank, k = self.layout.rank[nodes], nodes.shape[1]
            rows.append(np.repeat(rank, k, axis=1).ravel())
            columns.append(np.tile(rank, (1, k)).ravel())
            values.append(mass.ravel())
        row, column = np.concatenate(rows), np.concatenate(columns)
        free = (row >= 0) & (column >= 0)
        n = self.layout.n_unknowns // 3
        return sp.coo_array((np.concatenate(values)[free], (row[free], column[free])), shape=(n, n)).tocsr()

    @cached_property
    def edge_loads(self) -> FloatArray:
        """Return unit forces at the edge along x, y, z, shape (n_unknowns, 3)."""
        return self.layout.gather(self.face.spread(len(self.mesh.points)))

    def apply_mass(self, columns: FloatArray) -> FloatArray:
        """Return M times columns, both of shape (n_unknowns, n)."""
        product: FloatArray = (self.scalar_mass @ columns.reshape(len(columns) // 3, -1)).reshape(
            columns.shape
        )
        if self.added.edge_mass:
            product += self.edge_loads @ (self.added.edge_mass * (self.edge_loads.T @ columns))
        return product

    def skin_shares(self, shapes: FloatArray) -> FloatArray:
        """Return the share of the skins' mass in the kinetic energy of mass-normalised shapes, (n,)."""
        total = np.zeros(shapes.shape[2])
        for nodes, mass in self.added.skins:
            total += np.einsum("fain,fab,fbin->n", shapes[nodes], mass, shapes[nodes], optimize=True)
        return total

    def apply_stiffness(self, columns: FloatArray) -> FloatArray:
        """Return K times columns, both of shape (n_unknowns, n)."""
        return self.weighted_stiffness(columns, dict.fromkeys([*self.mesh.regions, *self.ties], 1.0))

    def weighted_stiffness(self, columns: FloatArray, weights: Mapping[str, float]) -> FloatArray:
        """Return the sum of ``weights[j] K_j`` over regions and ties, times columns (n_unknowns, n)."""
        moved = self.layout.spread(columns)
        force = np.zeros_like(moved)
        for name, cells in self.mesh.regions.items():
            for start in range(0, len(cells), _CHUNK):
                pick = cells[start : start + _CHUNK]
                nodes = self.mesh.cells[pick]
                _add_forces(force, nodes, self.matrices.stiffness(pick), moved, weights[name])
        for name, tie in self.ties.items():
            _add_forces(force, tie.nodes, tie.stiffness, moved, weights[name])
        return self.layout.gather(force)

    def energies(self, shapes: FloatArray) -> dict[str, FloatArray]:
        """Return the strain energy [J] of shapes (n_points, 3, n) in every region and tie, (n,) each."""
        out = {}
        for name, cells in self.mesh.regions.items():
            total = np.zeros(shapes.shape[2])
            for start in range(0, len(cells), _CHUNK):
                pick = cells[start : start + _CHUNK]
                total += _energy(self.matrices.stiffness(pick), shapes[self.mesh.cells[pick]])
            out[name] = total
        for name, tie in self.ties.items():
            out[name] = _energy(tie.stiffness, shapes[tie.nodes])
        return out


def _add_forces(
    force: FloatArray, nodes: IntArray, stiffness: FloatArray, moved: FloatArray, weight: float
) -> None:
    """Add the weighted nodal forces of groups of nodes to ``force``, shape (n_points, 3, n)."""
    u = moved[nodes]
    f = np.matmul(stiffness, u.reshape(len(u), -1, u.shape[-1])) * weight
    np.add.at(force, nodes, f.reshape(u.shape))


def _energy(stiffness: FloatArray, moved: FloatArray) -> FloatArray:
    """Return half of u K u summed over groups; moved has shape (n_groups, k, 3, n)."""
    u = moved.reshape(len(moved), -1, moved.shape[-1])
    total: FloatArray = np.einsum("gin,gin->n", u, np.matmul(stiffness, u)) / 2
    return total


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
    """
    matrices = cell_matrices(mesh, materials)
    ties = {name: bed(mesh, spring) for name, spring in support.springs.items()}
    ties |= {name: joint(mesh, spring) for name, spring in support.joints.items()}
    layout = chain_layout(mesh, held_nodes(mesh, support.held), ties=[t.nodes for t in ties.values()])
    free = not support.held and not support.springs
    speed = max(np.sqrt(m.youngs_modulus / m.density) for m in materials.values())
    shift = float((0.3 * speed / np.ptp(mesh.points, axis=0).max()) ** 2) if free else 0.0
    return Model(mesh, matrices, ties, layout, rigid_face(mesh), added or Added(), shift)
