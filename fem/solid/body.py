"""A held body before it is solved: mesh, matrices, what holds it, mass, order of the unknowns."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from stickout.fem.solid.block_cholesky import USUAL, Limits
from stickout.fem.solid.edge import RigidFace
from stickout.fem.solid.elasticity import CellMatrices
from stickout.fem.solid.layout import Layout, chain_layout
from stickout.fem.solid.slab import Assembly, Ties
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

if TYPE_CHECKING:
    import scipy.sparse as sp

_CHUNK = 4096


@dataclass(frozen=True)
class Added:
    """Mass that is no cell: a point mass at the edge [kg], and layers on the skin.

    ``skins`` are pairs of the nodes of facets, (n, 8), and their mass matrices [kg], (n, 8, 8).
    """

    edge_mass: float = 0.0
    skins: Sequence[tuple[IntArray, FloatArray]] = ()


@dataclass(frozen=True)
class Body:
    """A mesh with its matrices; they are summed when first asked for.

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
        A body of the same cells and skins, held otherwise, whose mass matrix serves for this one too.
    limits
        Up to where a solver factors it; past them it iterates.
    """

    mesh: TaggedMesh
    matrices: CellMatrices
    ties: Mapping[str, Ties]
    held: BoolArray
    face: RigidFace
    loads: FloatArray
    added: Added = Added()
    shift: float = 0.0
    kin: Body | None = None
    limits: Limits = USUAL

    @cached_property
    def layout(self) -> Layout:
        """Return the order of the unknowns."""
        return chain_layout(self.mesh, self.held, ties=[t.nodes for t in self.ties.values()])

    @cached_property
    def flatness(self) -> float:
        """Return the longest edge of a cell over its shortest, of the flattest cell."""
        at = self.mesh.points[self.mesh.cells[:, :8]]
        edges = np.linalg.norm(at[:, [1, 3, 4]] - at[:, :1], axis=2)
        return float((edges.max(axis=1) / edges.min(axis=1)).max())

    @property
    def assembly(self) -> Assembly:
        """Return what the stiffness is summed from."""
        return Assembly(self.mesh.cells, self.matrices, list(self.ties.values()), self.layout, self.shift)

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
        for name, cells in self.mesh.regions.items():
            moved = shapes[self.mesh.cells[cells]].reshape(len(cells), -1, shapes.shape[2])
            out[name] += self.matrices.twice_energies(cells, moved).sum(axis=0) / 2
        for name, tie in self.ties.items():
            u = shapes[tie.nodes].reshape(len(tie.nodes), -1, shapes.shape[2])
            out[name] += np.einsum("gin,gin->n", u, np.matmul(tie.stiffness, u)) / 2
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
    from scipy.sparse import coo_array  # here: a bar of revolution is answered without

    rows = np.concatenate([np.repeat(nodes, nodes.shape[1], axis=1).ravel() for nodes, _ in groups])
    columns = np.concatenate([np.tile(nodes, (1, nodes.shape[1])).ravel() for nodes, _ in groups])
    values = np.concatenate([mass.ravel() for _, mass in groups])
    return coo_array((values, (rows, columns)), shape=(n_points, n_points)).tocsr()
