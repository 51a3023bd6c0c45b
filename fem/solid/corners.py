"""The same bar with the corners of its cells only: the coarse half of the two-level preconditioner.

A middle node moves as the mean of its edge's ends. What the bar does as a whole is in that space, and a
plane of it has a quarter of the unknowns: the chain's factor costs a fourteenth of the memory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from stickout.fem.solid.block_cholesky import BlockCholesky, factor_chain
from stickout.fem.solid.body import Body
from stickout.fem.solid.eigensearch import BlockIteration
from stickout.fem.solid.layout import Layout, chain_layout
from stickout.fem.solid.matrix_free import coarsened
from stickout.fem.solid.slab import Assembly, Ties
from stickout.meshes.shape import EDGE_ENDS, FACET_ENDS
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

if TYPE_CHECKING:
    import scipy.sparse as sp


@dataclass(frozen=True)
class Corners:
    """The coarse bar.

    Attributes
    ----------
    assembly
        What its stiffness is summed from.
    spread
        Motion of all nodes from that of the corners, shape (n_points, n_corners).
    mass
        Mass of one displacement component [kg], shape (n_corners, n_corners).
    edge_loads
        Unit forces at the edge in its unknowns, shape (n_coarse_unknowns, 3).
    edge_mass
        Point mass there [kg].
    """

    assembly: Assembly
    spread: sp.csr_array
    mass: sp.csr_array
    edge_loads: FloatArray
    edge_mass: float

    @property
    def layout(self) -> Layout:
        """Return the order of the coarse unknowns."""
        return self.assembly.layout

    def factor(self) -> BlockCholesky:
        """Return the factored coarse stiffness."""
        return factor_chain(self.assembly)

    def restrict(self, force: FloatArray) -> FloatArray:
        """Return nodal forces (n_points, 3, n) as loads of the coarse unknowns, (n_coarse_unknowns, n)."""
        summed = self.spread.T @ force.reshape(len(force), -1)
        return self.layout.gather(summed.reshape(-1, 3, force.shape[2]))

    def prolong(self, columns: FloatArray) -> FloatArray:
        """Return coarse columns as motions of all nodes (n_points, 3, n)."""
        moved = self.layout.spread(columns)
        product = self.spread @ moved.reshape(len(moved), -1)
        return np.asarray(product.reshape(-1, 3, columns.shape[1]))

    def apply_mass(self, columns: FloatArray) -> FloatArray:
        """Return the coarse mass times coarse columns."""
        product = self.layout.through(self.mass, columns)
        if self.edge_mass:
            product += self.edge_loads @ (self.edge_mass * (self.edge_loads.T @ columns))
        return product

    def iteration(self, factor: BlockCholesky, start: FloatArray) -> BlockIteration:
        """Return the search for the coarse bar's own modes, from motions of all nodes."""
        columns = self.restrict(start)
        return BlockIteration(
            factor.solve, self.apply_mass, start=columns, shift=self.assembly.mass_shift, tolerance=1e-4
        )


def corners_of(model: Body) -> Corners:
    """Return the coarse bar of a model.

    Parameters
    ----------
    model
        The held bar or a part of one.

    Returns
    -------
    Corners
        Its matrices are the model's own in a smaller space, so no motion gets softer.

    Source
    ------
    Coarse spaces of lower order inside second-order elements: common in multigrid (recalled, not opened).
    """
    mesh = model.mesh
    corners, cells = np.unique(mesh.cells[:, :8], return_inverse=True)
    coarse = replace(
        mesh, points=mesh.points[corners], cells=cells.reshape(-1, 8), patches={}, joints={}, regions={}
    )
    number = np.full(len(mesh.points), -1)
    number[corners] = np.arange(len(corners))
    ties = [_coarse_tie(tie, number) for tie in model.ties.values()]
    layout = chain_layout(coarse, model.held[corners], ties=[t.nodes for t in ties], planes=1)
    along = interpolation(EDGE_ENDS, 8)
    m = model.matrices
    matrices = replace(
        m,
        along=coarsened(m.along, along),
        mixed=coarsened(m.mixed, along),
        across=coarsened(m.across, along),
        mass=np.asarray(along.T @ m.mass @ along),
    )
    spread = _spread(mesh, corners, number)
    loads = (spread.T @ model.loads.reshape(len(model.loads), -1)).reshape(-1, 3, 3)
    return Corners(
        assembly=Assembly(coarse.cells, matrices, ties, layout, model.shift),
        spread=spread,
        mass=(spread.T @ model.scalar_mass @ spread).tocsr(),
        edge_loads=layout.gather(loads),
        edge_mass=model.added.edge_mass,
    )


def interpolation(ends: IntArray, corners: int) -> FloatArray:
    """Return the motion of corners and edge middles from that of the corners, (corners + edges, corners)."""
    middles = np.zeros((len(ends), corners))
    np.put_along_axis(middles, ends, 0.5, axis=1)
    return np.vstack([np.eye(corners), middles])


def _spread(mesh: TaggedMesh, corners: IntArray, number: IntArray) -> sp.csr_array:
    """Return the motion of all nodes from that of the corners, shape (n_points, n_corners)."""
    from scipy.sparse import coo_array  # here: few bars are iterated

    first, second = np.full((2, len(mesh.points)), -1)
    first[corners] = second[corners] = number[corners]
    first[mesh.cells[:, 8:]] = number[mesh.cells[:, EDGE_ENDS[:, 0]]]
    second[mesh.cells[:, 8:]] = number[mesh.cells[:, EDGE_ENDS[:, 1]]]
    rows = np.repeat(np.arange(len(first)), 2)
    columns = np.stack([first, second], axis=1).ravel()
    there = columns >= 0
    shape = (len(first), len(corners))
    return coo_array((np.full(there.sum(), 0.5), (rows[there], columns[there])), shape=shape).tocsr()


def _coarse_tie(tie: Ties, number: IntArray) -> Ties:
    """Return springs on facets of 8 nodes, or between two such, in terms of the facets' corners."""
    one = interpolation(FACET_ENDS, 4)
    sides = tie.nodes.shape[1] // 8
    corners = np.concatenate([np.arange(8 * s, 8 * s + 4) for s in range(sides)])
    return Ties(
        number[tie.nodes[:, corners]],
        coarsened(tie.stiffness, np.asarray(np.kron(np.eye(sides), one), dtype=float)),
    )
