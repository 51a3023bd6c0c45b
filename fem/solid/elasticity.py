"""Element matrices of linear elasticity, one batched product per congruent family of cells.

A cell that is swept straight along x keeps its section; only its length changes. Its stiffness is then
``A/s + B + C*s`` and its mass ``M*s``, with ``s`` the length over that of the family's first cell. So the
integrals are done once a family, and any grading along the bar costs three scaled additions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.errors import InputError, SolveError
from stickout.meshes.shape import gauss_rule
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh


@dataclass(frozen=True)
class Elastic:
    """What the mechanics needs to know of a material: E [Pa], nu [-], density [kg/m^3]."""

    youngs_modulus: float
    poisson_ratio: float
    density: float


@dataclass(frozen=True)
class CellMatrices:
    """Stiffness and mass of every cell, kept by family.

    Attributes
    ----------
    along, mixed, across
        The three parts A, B, C of the stiffness [N/m] of each family, shape (n_families, 60, 60);
        rows and columns run node, xyz.
    mass
        Scalar mass [kg] of each family, shape (n_families, 20, 20).
    family
        Family of each cell, shape (n_cells,).
    stretch
        Length of each cell over that of its family's first cell, shape (n_cells,).
    """

    along: FloatArray
    mixed: FloatArray
    across: FloatArray
    mass: FloatArray
    family: IntArray
    stretch: FloatArray

    def stiffness(self, pick: IntArray | slice) -> FloatArray:
        """Return the stiffness matrices [N/m] of a run of cells, shape (n, 60, 60)."""
        f, s = self.family[pick], self.stretch[pick][:, None, None]
        k: FloatArray = self.across[f]
        k *= s
        k += self.mixed[f]
        k += self.along[f] / s
        return k

    def twice_energies(self, cells: IntArray, moved: FloatArray) -> FloatArray:
        """Return u K u of motions (n, 60, m) of some cells, shape (n, m), without a matrix for each cell."""
        family, stretch = self.family[cells], self.stretch[cells]
        out = np.empty((len(cells), moved.shape[2]))
        order = np.argsort(family, kind="stable")
        # Family by family: cells of one share three matrices, which weigh by their lengths.
        for pick in np.split(order, np.flatnonzero(np.diff(family[order])) + 1):
            if not len(pick):
                continue
            u, s, one = moved[pick], stretch[pick][:, None], family[pick[0]]
            along, mixed, across = (
                np.einsum("gin,gin->gn", u, np.matmul(part[one], u))
                for part in (self.along, self.mixed, self.across)
            )
            out[pick] = along / s + mixed + across * s
        return out

    def of(self, cells: IntArray) -> CellMatrices:
        """Return the matrices of some of the cells."""
        return replace(self, family=self.family[cells], stretch=self.stretch[cells])

    def scalar_mass(self) -> FloatArray:
        """Return the mass [kg] of one displacement component of every cell, shape (n_cells, 20, 20)."""
        m: FloatArray = self.mass[self.family] * self.stretch[:, None, None]
        return m


def cell_matrices(mesh: TaggedMesh, materials: Mapping[str, Elastic]) -> CellMatrices:
    """Return the element matrices of a mesh.

    Parameters
    ----------
    mesh
        The mesh; ``mesh.family`` says which cells are congruent but for their length.
    materials
        A material for every region of the mesh.

    Returns
    -------
    CellMatrices
        Stiffness and mass by family, and the family and stretch of each cell.

    Raises
    ------
    InputError
        A region has no material.
    SolveError
        A cell is turned inside out.
    """
    names = sorted(mesh.regions)
    constants = _constants(names, materials)
    region = np.empty(len(mesh.cells), dtype=np.int64)
    for number, name in enumerate(names):
        region[mesh.regions[name]] = number
    lone = mesh.family < 0
    group = np.where(lone, mesh.family.max(initial=0) + 1 + np.arange(len(mesh.cells)), mesh.family)
    _, first, family = np.unique(group * len(names) + region, return_index=True, return_inverse=True)
    gradients, mass = _scalar_integrals(mesh.points[mesh.cells[first]])
    young, poisson, density = constants[region[first]].T
    lame = young * poisson / ((1 + poisson) * (1 - 2 * poisson))
    shear = young / (2 * (1 + poisson))
    length = mesh.points[mesh.cells[:, 4], 0] - mesh.points[mesh.cells[:, 0], 0]
    stretch = np.where(lone, 1.0, length / np.where(lone, 1.0, length[first[family]]))
    along, mixed, across = _stiffness_parts(gradients, lame, shear)
    return CellMatrices(along, mixed, across, mass * density[:, None, None], family, stretch)


def _constants(names: list[str], materials: Mapping[str, Elastic]) -> FloatArray:
    """Return E, nu, rho of each region, shape (n_regions, 3)."""
    for name in names:
        if name not in materials:
            raise InputError(
                key="materials",
                given=sorted(materials),
                allowed=f"a material for each of {names}",
                mend=f"Add one for {name!r}.",
            )
    rows = [(materials[n].youngs_modulus, materials[n].poisson_ratio, materials[n].density) for n in names]
    return np.array(rows)


def _scalar_integrals(corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the integrals of dN_a/dx_i dN_b/dx_j, (n, 3, 20, 3, 20), and of N_a N_b, (n, 20, 20)."""
    rule = gauss_rule(3)
    n, q = len(corners), len(rule.weights)
    jacobian = np.matmul(rule.gradients, corners[:, None])
    volume = np.linalg.det(jacobian)
    if np.any(volume <= 0):
        bad = np.argwhere(volume <= 0)
        raise SolveError(
            f"{len(np.unique(bad[:, 0]))} kinds of cell are turned inside out, the worst with a volume ratio "
            f"of {(volume.min(axis=1) / volume.max(axis=1)).min():.2g}; check the mesh's order of nodes."
        )
    gradients = np.linalg.solve(jacobian, np.broadcast_to(rule.gradients, (n, q, 3, 20)))
    weighted = gradients * (volume * rule.weights)[:, :, None, None]
    products = np.matmul(weighted.reshape(n, q, 60).swapaxes(1, 2), gradients.reshape(n, q, 60))
    mass = np.matmul((rule.values.T * (volume * rule.weights)[:, None]), rule.values)
    return products.reshape(n, 3, 20, 3, 20), mass


def _stiffness_parts(
    gradients: FloatArray, lame: FloatArray, shear: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the stiffness by how often x is derived along: twice, once, never; (n, 60, 60) each.

    The whole is ``lambda dN_a,i dN_b,j + mu dN_a,j dN_b,i + mu delta_ij grad N_a . grad N_b``.
    """
    n = len(gradients)
    lam, mu = lame[:, None, None], shear[:, None, None]
    g = gradients.transpose(1, 3, 0, 2, 4)
    parts = np.zeros((3, n, 20, 3, 20, 3))
    along, mixed, across = parts
    along[:, :, 0, :, 0] = (lam + 2 * mu) * g[0, 0]
    for i, j in ((1, 2), (2, 1)):
        along[:, :, i, :, i] = mu * g[0, 0]
        mixed[:, :, 0, :, i] = lam * g[0, i] + mu * g[i, 0]
        mixed[:, :, i, :, 0] = lam * g[i, 0] + mu * g[0, i]
        across[:, :, 0, :, 0] += mu * g[i, i]
        across[:, :, i, :, i] = (lam + 2 * mu) * g[i, i] + mu * g[j, j]
        across[:, :, i, :, j] = lam * g[i, j] + mu * g[j, i]
    return along.reshape(n, 60, 60), mixed.reshape(n, 60, 60), across.reshape(n, 60, 60)
