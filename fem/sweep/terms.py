"""One symmetric part of one mesh as a sum of terms, each times a factor that a point tells.

The stretched end of a bar is ``A/s + B + C s`` in its stretch s, its mass ``M s``; what stands still,
every material and the two ways of a touching face have factors of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Protocol

import numpy as np
import scipy.sparse as sp

from stickout.fem.compare.inputs import RUBBING
from stickout.fem.solid.block_cholesky import BlockCholesky, factor_chain
from stickout.fem.solid.body import mass_matrix
from stickout.fem.solid.slab import Assembly, Ties
from stickout.fem.solid.symmetry import Part
from stickout.fem.sweep.factors import Factor, Factors, Stretch
from stickout.fem.sweep.points import Points
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

# How often x is derived along in each part of a cell's stiffness, as powers of its stretch.
_POWERS: Final = {"along": -1, "mixed": 0, "across": 1}
Apply = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True)
class Term:
    """A term of stiffness or mass: region or tie it belongs to, its factor at a point, the matrix."""

    owner: str
    factor: Factor
    apply: Apply


class Solves(Protocol):
    """A factored stiffness."""

    def solve(self, load: FloatArray, /) -> FloatArray:
        """Return the displacements under load columns, both of shape (n_unknowns, n)."""
        ...


class Terms(Protocol):
    """A part whose stiffness and mass are sums of terms; unit loads of the end face's six motions."""

    loads: FloatArray

    @property
    def stiffness(self) -> Sequence[Term]:
        """Return the terms of the stiffness."""
        ...

    @property
    def mass(self) -> Sequence[Term]:
        """Return the terms of the mass, the point mass at the edge left out."""
        ...

    def factored(self, point: Points) -> Solves:
        """Return the factored stiffness at a point."""
        ...


def stretch_of(mesh: TaggedMesh) -> Stretch:
    """Return the end of a swept bar that may be stretched: its last layers, all equally long."""
    cells = mesh.cells[mesh.regions["bar"]]
    x = np.unique(np.round(mesh.points[cells[:, [0, 4]], 0], 12))
    steps = np.diff(x)
    unlike = np.flatnonzero(np.abs(steps - steps[-1]) > 1e-6 * steps[-1])
    start = float(x[unlike[-1] + 1]) if len(unlike) else float(x[0])
    # A loose wrap is no cell: where it ends the layers on both sides may be equally long by chance.
    wound = mesh.points[mesh.patches["wound"], 0] if "wound" in mesh.patches else np.empty(0)
    ends = [float(end) for end in (wound.min(initial=x[-1]), wound.max(initial=x[0])) if end < x[-1] - 1e-9]
    return Stretch(max(start, *ends, float(x[0])), float(x[-1]))


class PartTerms:
    """The terms of a part.

    Parameters
    ----------
    part
        The part; ties are apart by way (``name, normal`` and ``name, shear``), loads are the six of the face.
    stretch
        What is stretched.
    reference
        The point that its matrices were made at, alone.
    """

    def __init__(self, part: Part, *, stretch: Stretch, reference: Points) -> None:
        model = part.model
        self.model, self.layout = model, model.layout
        self.factors = Factors(reference, stretch)
        middle = model.mesh.points[model.mesh.cells[:, [0, 4]], 0].mean(axis=1)
        self._long: BoolArray = middle > stretch.start
        self.loads: FloatArray = self.layout.gather(model.loads)

    @cached_property
    def stiffness(self) -> list[Term]:
        """Return the terms of the stiffness."""
        out: list[Term] = []
        for name, cells in self.model.mesh.regions.items():
            young = self.factors.young(name)
            still, moved = cells[~self._long[cells]], cells[self._long[cells]]
            if len(still):
                out.append(Term(name, young, self._cell_apply(still, None)))
            if len(moved):
                out += [
                    Term(name, self.factors.stretched(young, power), self._cell_apply(moved, way))
                    for way, power in _POWERS.items()
                ]
        for name, tie in self.model.ties.items():
            apply = self._apply(tie.nodes, tie.stiffness)
            out.append(Term(name.rpartition(", ")[0], self.factors.faces(name), apply))
        return out

    @cached_property
    def mass(self) -> list[Term]:
        """Return the terms of the mass, the point mass at the edge left out."""
        out: list[Term] = []
        for name, cells in self.model.mesh.regions.items():
            density = self.factors.density(name)
            still, moved = cells[~self._long[cells]], cells[self._long[cells]]
            if len(still):
                out.append(Term(name, density, self._mass_apply(*self._cell_mass(still))))
            if len(moved):
                out.append(
                    Term(name, self.factors.stretched(density, 1), self._mass_apply(*self._cell_mass(moved)))
                )
        for facets, mass in self.model.added.skins:
            out.append(Term(RUBBING, self.factors.density("wrap"), self._mass_apply(facets, mass)))
        return out

    def factored(self, point: Points) -> BlockCholesky:
        """Return the factored stiffness at a point.

        Raises
        ------
        SolveError
            The stiffness is not positive.
        """
        model, matrices = self.model, self.model.matrices
        young = np.ones(len(matrices.along))
        for name, cells in model.mesh.regions.items():
            young[matrices.family[cells]] = self.factors.young(name)(point)[0]
        scale = young[:, None, None]
        stretch = np.where(self._long, matrices.stretch * self.factors.stretch.of(point)[0], matrices.stretch)
        there = replace(
            matrices,
            along=matrices.along * scale,
            mixed=matrices.mixed * scale,
            across=matrices.across * scale,
            stretch=stretch,
        )
        ties = [Ties(t.nodes, t.stiffness * self.factors.faces(n)(point)[0]) for n, t in model.ties.items()]
        return factor_chain(Assembly(model.mesh.cells, there, ties, self.layout))

    def _cell_apply(self, cells: IntArray, way: str | None) -> Apply:
        """Return the stiffness of some cells, or one of its three ways, as an operator."""
        matrices = self.model.matrices
        if way is None:
            return self._apply(self.model.mesh.cells[cells], matrices.stiffness(cells))
        family, stretch = matrices.family[cells], matrices.stretch[cells][:, None, None]
        stiffness = getattr(matrices, way)[family] * stretch ** _POWERS[way]
        return self._apply(self.model.mesh.cells[cells], stiffness)

    def _apply(self, nodes: IntArray, matrices: FloatArray) -> Apply:
        """Return groups of nodes with matrices (g, 3k, 3k) as an operator on columns."""
        place = self.layout.place[nodes].reshape(len(nodes), -1)
        held = place.ravel() < 0
        # Summed by a matrix of ones: quicker than assembling, for as few columns as there are.
        ones = sp.csc_array(
            (~held * 1.0, np.where(held, 0, place.ravel()), np.arange(place.size + 1)),
            shape=(self.layout.n_unknowns, place.size),
        ).tocsr()

        def apply(given: FloatArray) -> FloatArray:
            moved = np.vstack([given, np.zeros((1, given.shape[1]))])[place]
            return np.asarray(ones @ np.matmul(matrices, moved).reshape(place.size, -1))

        return apply

    def _cell_mass(self, cells: IntArray) -> tuple[IntArray, FloatArray]:
        return self.model.mesh.cells[cells], self.model.matrices.of(cells).scalar_mass()

    def _mass_apply(self, nodes: IntArray, mass: FloatArray) -> Apply:
        """Return scalar masses (g, k, k) of groups of nodes as an operator on columns."""
        matrix = mass_matrix([(nodes, mass)], len(self.model.mesh.points))
        return lambda given: self.layout.through(matrix, given)


def coefficients(terms: Sequence[Term], points: Points) -> FloatArray:
    """Return the factor of every term at every point, shape (n_points, n_terms)."""
    return np.stack([term.factor(points) for term in terms], axis=1)


def by_owner(terms: Sequence[Term]) -> Mapping[str, list[int]]:
    """Return the numbers of the terms of every region and tie."""
    out: dict[str, list[int]] = {}
    for number, term in enumerate(terms):
        out.setdefault(term.owner, []).append(number)
    return out
