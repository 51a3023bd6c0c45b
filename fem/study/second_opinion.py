"""A second opinion: the first mesh's matrices again by scikit-fem's own elements and forms, solved by SciPy.

What holds the bar is built again as facet forms. Screws that press part of a facet, a mass at the edge and
loose wire are taken over as they are, since no form of that library's states them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from stickout.fem.beam.centres import edge_place, end_springs
from stickout.fem.beam.stepped import PointSpring
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.edge import carried
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.ends import with_edge_at
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.modes import solve_modes
from stickout.fem.solid.setting import added_mass, elastic, region_materials, support_of
from stickout.fem.solid.supports import Spring
from stickout.fem.study.frames import own_frame
from stickout.fem.study.study import levels_of, mesh_of, solve_level
from stickout.meshes.exchange import curved_skfem_mesh, facets_of, unknowns_by_node
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

if TYPE_CHECKING:
    import scipy.sparse as sp

# Gauss points in each direction for polynomials up to this order: three, as ours.
_ORDER: Final = 5


@dataclass(frozen=True)
class SecondOpinion:
    """Frequencies [Hz] of one mesh, ours and those of the other library, shape (n,); what was taken over."""

    ours_hz: FloatArray
    theirs_hz: FloatArray
    unknowns: int
    taken_over: tuple[str, ...]

    @property
    def apart(self) -> float:
        """Return the greatest relative difference."""
        return float(np.abs(self.ours_hz / self.theirs_hz - 1).max())


def second_opinion(setup: Setup) -> SecondOpinion:
    """Return the modes of a set-up's first mesh by our matrices and by scikit-fem's.

    Parameters
    ----------
    setup
        The set-up.

    Returns
    -------
    SecondOpinion
        As many modes as are asked for.

    Source
    ------
    scikit-fem's ElementHexS2 and linear_elasticity, SciPy's shift-invert (computed here).
    """
    own, _ = own_frame(setup)
    mesh = mesh_of(own, levels_of(own).fineness[0])
    materials = {name: elastic(m) for name, m in region_materials(own, mesh).items()}
    support = support_of(own)
    model = held_model(mesh, materials, support=support, added=added_mass(own, mesh))
    if own.grip.at_both_ends:
        model = with_edge_at(model, edge_place(own))
    wanted = own.solve.modes
    theirs = _Theirs(mesh, materials, model=model, support=support)
    if own.grip.at_both_ends:
        theirs.stand_on(end_springs(own))
        ours = solve_level(own, levels_of(own).fineness[0]).modes
    else:
        ours = solve_modes(model, wanted)
    return SecondOpinion(
        ours_hz=ours.frequency_hz[:wanted],
        theirs_hz=theirs.frequencies(wanted),
        unknowns=int((~model.held).sum()),
        taken_over=tuple(theirs.taken_over),
    )


class _Theirs:
    """The matrices of a mesh by scikit-fem."""

    def __init__(
        self, mesh: TaggedMesh, materials: dict[str, Elastic], *, model: Model, support: Support
    ) -> None:
        import skfem

        self._mesh, self._model = mesh, model
        self._grid = curved_skfem_mesh(mesh)
        self._element = skfem.ElementVector(skfem.ElementHexS2())
        self._place = unknowns_by_node(mesh, skfem.Basis(self._grid, self._element, intorder=_ORDER))
        self.taken_over: list[str] = []
        self._rides: list[tuple[int, float]] = []
        self.stiffness, self.mass = self._cells(materials)
        for name, spring in support.springs.items():
            if spring.within is None:
                self.stiffness = self.stiffness + self._layer(mesh.patches[spring.patch], spring)
            else:
                self._take_over(name)
        for spring in support.joints.values():
            facets = mesh.joints[spring.patch]
            one = self._layer(facets[:, 8:], spring)
            self.stiffness = self.stiffness + self._between(one, facets)
        self._add_masses()

    def stand_on(self, springs: Sequence[PointSpring]) -> None:
        """Put the root's rigid face on the first spring, and the mean motion of the far face on the last."""
        import scipy.sparse as sp
        import skfem

        root, far = springs
        self._rides = [
            (axis, spring)
            for axis, spring in (
                (1, root.translation),
                (2, root.translation),
                (4, root.rotation),
                (5, root.rotation),
            )
            if not np.isinf(spring)
        ]
        where = facets_of(self._grid, self._mesh, facets=self._mesh.patches["end"])
        basis = skfem.FacetBasis(self._grid, self._element, facets=where, intorder=_ORDER)
        area = skfem.Functional(lambda w: 1.0 + 0 * w.x[0]).assemble(basis)
        for axis in (1, 2):
            form = skfem.LinearForm(lambda v, _, axis=axis: v[axis])
            mean = sp.csc_matrix(form.assemble(basis)[:, None] / area)
            self.stiffness = self.stiffness + far.translation * mean @ mean.T

    def _cells(self, materials: dict[str, Elastic]) -> tuple[Any, Any]:
        """Return stiffness and mass of the cells."""
        import skfem
        from skfem.helpers import dot
        from skfem.models.elasticity import lame_parameters, linear_elasticity

        stiffness = mass = 0.0
        for name, cells in self._mesh.regions.items():
            stuff = materials[name]
            basis = skfem.Basis(self._grid, self._element, intorder=_ORDER, elements=np.asarray(cells))
            form = linear_elasticity(*lame_parameters(stuff.youngs_modulus, stuff.poisson_ratio))
            stiffness = stiffness + form.assemble(basis)
            heavy = skfem.BilinearForm(lambda u, v, _: dot(u, v))
            mass = mass + stuff.density * heavy.assemble(basis)
        return stiffness, mass

    def _layer(self, facets: IntArray, spring: Spring) -> Any:  # noqa: ANN401 - scikit-fem has no types
        """Return the stiffness of a layer of springs on facets."""
        import skfem
        from skfem.helpers import dot

        where = facets_of(self._grid, self._mesh, facets=facets)
        basis = skfem.FacetBasis(self._grid, self._element, facets=where, intorder=_ORDER)

        def layer(u: Any, v: Any, w: Any) -> Any:  # noqa: ANN401 - scikit-fem has no types
            return spring.shear * dot(u, v) + (spring.normal - spring.shear) * dot(u, w.n) * dot(v, w.n)

        total = skfem.BilinearForm(layer).assemble(basis)
        if spring.area is None:
            return total
        area = skfem.Functional(lambda w: 1.0 + 0 * w.x[0]).assemble(basis)
        return total * (spring.area / area)

    def _between(self, one: Any, facets: IntArray) -> Any:  # noqa: ANN401 - scikit-fem has no types
        """Return the stiffness between the two sides of a joint from that of one side."""
        import scipy.sparse as sp

        n = one.shape[0]
        # From the outer side: beside a saw cut one node of the bar meets two of the block.
        mine, other = (self._place[f].ravel() for f in (facets[:, 8:], facets[:, :8]))
        mine, first = np.unique(mine, return_index=True)
        other = other[first]
        sign = np.concatenate([np.ones(len(mine)), -np.ones(len(mine))])
        jump = sp.csr_matrix(
            (sign, (np.concatenate([mine, mine]), np.concatenate([mine, other]))), shape=(n, n)
        )
        return jump.T @ one @ jump

    def _take_over(self, name: str) -> None:
        """Add the springs of ours under a name."""
        tie = self._model.ties[name]
        rows = self._place[tie.nodes].reshape(len(tie.nodes), -1)
        self.stiffness = self.stiffness + self._summed(rows, tie.stiffness)
        self.taken_over.append(name)

    def _add_masses(self) -> None:
        """Add the point mass at the edge and the loose wire."""
        import scipy.sparse as sp

        added, n = self._model.added, self.mass.shape[0]
        if added.edge_mass:
            loads = np.zeros((n, 3))
            loads[self._place.ravel()] = self._model.loads.reshape(-1, 3)
            sparse = sp.csr_matrix(loads)
            self.mass = self.mass + added.edge_mass * (sparse @ sparse.T)
            self.taken_over.append("mass at the edge")
        for nodes, mass in added.skins:
            for axis in range(3):
                self.mass = self.mass + self._summed(self._place[nodes][:, :, axis], mass)
        if added.skins:
            self.taken_over.append("loose wire")

    def _summed(self, rows: IntArray, matrices: FloatArray) -> sp.csr_matrix:
        """Return the sum of small matrices at their unknowns."""
        import scipy.sparse as sp

        k, n = rows.shape[1], self.mass.shape[0]
        across, down = np.tile(rows, (1, k)), np.repeat(rows, k, axis=1)
        return sp.csr_matrix((matrices.ravel(), (down.ravel(), across.ravel())), shape=(n, n))

    def frequencies(self, wanted: int) -> FloatArray:
        """Return the lowest frequencies [Hz] by SciPy's shift-invert."""
        import scipy.sparse as sp
        from scipy.sparse.linalg import eigsh

        n, free = self.mass.shape[0], np.sort(self._place[~self._model.held])
        axes = [axis for axis, _ in self._rides]
        ride = np.zeros((n, len(axes)))
        # A held unknown is one of a node and a way it moves; the whole of its face rides.
        ride[self._place[self._model.held]] = carried(self._mesh.points)[self._model.held][:, axes]
        moves = sp.hstack([sp.identity(n, format="csc")[:, free], sp.csc_matrix(ride)], format="csc")
        stiffness, mass = (moves.T @ one @ moves for one in (self.stiffness, self.mass))
        ground = [*np.zeros(len(free)), *(spring for _, spring in self._rides)]
        stiffness, mass = (stiffness + sp.diags(ground)).tocsc(), mass.tocsc()
        start = np.random.default_rng(0).standard_normal(mass.shape[0])
        values = eigsh(stiffness, wanted, mass, sigma=0.0, return_eigenvectors=False, v0=start, tol=1e-12)
        frequency: FloatArray = np.sqrt(np.sort(values)) / (2 * np.pi)
        return frequency
