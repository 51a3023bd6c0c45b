"""Round bars in a bored block: the bar a body of revolution, the block on meshes, the limit with its error.

Two things are refined. The bar's polynomials, on the coarsest mesh of the block, until what they leave is a
small part of the accuracy; then the block's meshes, one direction at a time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np

from stickout.fem.later import Later
from stickout.fem.revolved.bar import Fine
from stickout.fem.revolved.bore import bore_of
from stickout.fem.revolved.in_block import BLOCK, BarInBore, InBlock, MeshedBlock, solve_in_block
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.elasticity import cell_matrices
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import SPARE
from stickout.fem.solid.setting import elastic, hold_of, support_of
from stickout.fem.solid.supports import held_nodes
from stickout.fem.study.accuracy import Budget, Level, MeshLimit, limit_at, refine_apart
from stickout.fem.study.apart import SINGLE
from stickout.fem.study.budget import EACH, FACTOR, Account
from stickout.fem.study.meshes_limit import Tended, further, worst_error
from stickout.fem.study.of_revolution import (
    SPACES,
    is_bare_and_round,
    loses_little,
    revolved_bar,
    space_work,
    spaces_limit,
)
from stickout.fem.study.revolved_level import modes_of
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

MeshOf = Callable[[Fineness], TaggedMesh]

# First meshes of the block, in terms of the bar: few cells round the bore, and twice as many. What one more
# step in each direction leaves open of the worst figure was 1.5e-3 and 0.8e-3 (computed here).
COARSE: Final = Fineness(2, 1, 0.12, 1.2, 0.5)
_FINER: Final = replace(COARSE, around=4, first=0.24)
_ENOUGH: Final = 2.5e-3
# Orders of the series on the first mesh, and how many more on each that is finer round the bore.
_ORDERS: Final = 4
# As many do for ratios of like set-ups.
_FEW: Final = 2
# What the bar's polynomials may leave, in parts of the accuracy.
_OF_BAR: Final = 0.25
# A solution that would be more work is not tried: some ten seconds.
_MOST_WORK: Final = 3e11
# Without a single step of every direction nothing is known but the first mesh: half a minute each.
_MOST_SINGLE: Final = 1.2e12


def solved_in_block(setup: Setup) -> bool:
    """Return whether a set-up is a round bar that springs join to a block, no part of it very lossy."""
    joined = setup.grip.has_block and bool(support_of(setup).joints)
    return joined and is_bare_and_round(setup) and loses_little(setup, [BLOCK])


def block_limit(
    setup: Setup, mesh_of: MeshOf, *, model_of: Callable[[Fineness], Model], account: Account
) -> MeshLimit[Level]:
    """Return what finer polynomials and finer meshes of the block tend to.

    Parameters
    ----------
    setup
        A set-up of which ``solved_in_block`` is true.
    mesh_of, model_of
        Give the mesh of bar and block, and its model, which modes are drawn on.
    account
        Told of every solution.

    Raises
    ------
    SolveError
        The computation failed.
    """
    solver = BlockSolver(setup, mesh_of, model_of=model_of, account=account)
    first = _first_mesh(solver, setup.solve.accuracy)
    accuracy, wanted = setup.solve.accuracy, setup.solve.modes
    levels, told = _in_spaces(solver, first, accuracy=accuracy, wanted=wanted)
    left = worst_error(told.error, told.compliance_error, wanted=wanted)
    chosen = SPACES[len(levels) - 1]

    def solve(fineness: Fineness) -> Level:
        return levels[-1] if fineness == first else solver.solve(chosen, fineness)

    limit = refine_apart(
        solve,
        first,
        accuracy=max(accuracy - left, (1 - _OF_BAR) * accuracy),
        wanted=wanted,
        budget=Budget(
            partial(solver.work, chosen),
            _MOST_WORK,
            single=_MOST_SINGLE,
            plan=lambda meshes: account.plan([solver.work(chosen, one) for one in meshes if one != first]),
        ),
    )
    meshes = Tended(limit.frequency_hz, limit.error, limit.compliance, limit.compliance_error)
    found = further(meshes, limit.finest.numbers, last=levels[-1].numbers, more=told)
    return limit_at(limit.finest, found, accuracy=accuracy, wanted=wanted)


def _first_mesh(solver: BlockSolver, accuracy: float) -> Fineness:
    """Return the mesh to begin with: finer where the accuracy asks for it and its single steps allow it."""
    single = (replace(_FINER, steps=steps) for steps in SINGLE)
    if accuracy > _ENOUGH or any(solver.work(SPACES[1], one) > _MOST_WORK for one in single):
        return COARSE
    return _FINER


def _in_spaces(
    solver: BlockSolver, first: Fineness, *, accuracy: float, wanted: int
) -> tuple[list[Level], Tended]:
    """Return what spaces of polynomials tell on the first mesh, and what they tend to."""
    bar, levels = revolved_bar(solver.setup), [solver.solve(SPACES[0], first)]
    for fine in SPACES[1:]:
        levels.append(solver.solve(fine, first))
        told = spaces_limit([one.numbers for one in levels], bar, wanted=wanted)
        following = SPACES[min(len(levels), len(SPACES) - 1)]
        left = worst_error(told.error, told.compliance_error, wanted=wanted)
        if left <= _OF_BAR * accuracy or solver.work(following, first) > _MOST_WORK:
            break
    return levels, told


def block_level(setup: Setup, mesh_of: MeshOf, *, fine: Fine, model_of: Callable[[Fineness], Model]) -> Level:
    """Return what one space of polynomials and the coarsest mesh of the block tell of a set-up."""
    return BlockSolver(setup, mesh_of, model_of=model_of, account=Account(None), orders=_FEW).solve(
        fine, COARSE
    )


class BlockSolver:
    """Solves a set-up in a space of polynomials on a mesh; what was found starts the next search.

    Parameters
    ----------
    setup
        A set-up of which ``solved_in_block`` is true.
    mesh_of, model_of
        Give the mesh of bar and block, and its model, which modes are drawn on.
    account
        Told of every solution.
    orders
        Orders of the series on the first mesh.
    """

    def __init__(
        self,
        setup: Setup,
        mesh_of: MeshOf,
        *,
        model_of: Callable[[Fineness], Model],
        account: Account,
        orders: int = _ORDERS,
    ) -> None:
        self.setup, self._mesh_of, self._model_of, self._account = setup, mesh_of, model_of, account
        self._wanted, self._orders = setup.solve.modes + SPARE, orders
        self._bars: dict[tuple[Fine, int], BarInBore] = {}
        self._blocks: dict[Fineness, MeshedBlock] = {}
        self._started: dict[Fine, FloatArray] = {}
        self._works: dict[tuple[Fine, Fineness], float] = {}

    def solve(self, fine: Fine, fineness: Fineness) -> Level:
        """Return what a space and a mesh tell."""
        with self._account.solving(self.work(fine, fineness)):
            for one in (block for known, block in self._blocks.items() if known != fineness):
                one.let_go()
            bar, block = self.bar(fine, fineness), self.block(fineness)
            found = solve_in_block(bar, block, wanted=self._wanted, start=self._started.get(fine))
        self._started.setdefault(fine, found.start)
        model = Later(partial(self._model_of, fineness))
        solution = found.solution
        modes = modes_of(solution, Later(partial(_shapes, found, model)))
        return Level(model, modes, solution.kinds(), solution.compliance, solution.unknowns)

    def work(self, fine: Fine, fineness: Fineness) -> float:
        """Return about how much work that is, in floating-point operations."""
        if (fine, fineness) not in self._works:
            block = self.block(fineness)
            width = np.diff(block.layout.start).astype(float)
            columns = 8 * self.bar(fine, fineness).n_skin
            own = float((width**2 * (FACTOR * width + columns)).sum()) + EACH * block.layout.n_unknowns
            self._works[fine, fineness] = own + space_work(self.setup, fine)
        return self._works[fine, fineness]

    def bar(self, fine: Fine, fineness: Fineness) -> BarInBore:
        """Return the bar; the more cells lie round the bore, the more orders it has."""
        orders = self._orders * (1 + fineness.steps[1])
        if (fine, orders) not in self._bars:
            bar = revolved_bar(self.setup)
            self._bars[fine, orders] = BarInBore(bar, fine, orders=orders, wanted=self._wanted)
        return self._bars[fine, orders]

    def block(self, fineness: Fineness) -> MeshedBlock:
        """Return the block on a mesh."""
        if fineness not in self._blocks:
            self._blocks[fineness] = self._cut_out(fineness)
        return self._blocks[fineness]

    def _cut_out(self, fineness: Fineness) -> MeshedBlock:
        """Return the block, cut from the mesh of all."""
        mesh = self._mesh_of(fineness)
        cells = mesh.regions[BLOCK]
        nodes = _block_nodes(mesh)
        number = np.full(len(mesh.points), -1)
        number[nodes] = np.arange(len(nodes))
        own = TaggedMesh(
            points=mesh.points[nodes],
            cells=number[mesh.cells[cells]],
            regions={BLOCK: np.arange(len(cells))},
            patches={name: number[mesh.patches[name]] for name in self.setup.grip.held_still},
            edge=mesh.edge,
            family=mesh.family[cells],
        )
        ((name, spring),) = support_of(self.setup).joints.items()
        return MeshedBlock(
            mesh=own,
            matrices=cell_matrices(own, {BLOCK: elastic(self.setup.materials[BLOCK])}),
            bore=bore_of(own.points, number[mesh.joints[name][:, 8:]], spring=spring),
            held=held_nodes(own, self.setup.grip.held_still),
            start=self._start(own),
        )

    def _start(self, mesh: TaggedMesh) -> IntArray:
        """Return the nodes of the upper lip of the saw cut; of a whole block those above the bore."""
        y, z = mesh.points[:, 1:].T
        tiny = 1e-9 * np.ptp(z)
        block = hold_of(self.setup).block
        if block is None or not block.split:
            return np.flatnonzero((np.abs(y) < tiny) & (z > 0))
        above = mesh.points[mesh.cells[:, :8], 2].mean(axis=1) > 0
        upper: BoolArray = np.zeros(len(y), dtype=bool)
        upper[mesh.cells[above]] = True
        return np.flatnonzero(upper & (np.abs(z) < tiny) & (y > 0))


def _block_nodes(mesh: TaggedMesh) -> IntArray:
    return np.unique(mesh.cells[mesh.regions[BLOCK]])


def _shapes(found: InBlock, model: Later[Model]) -> FloatArray:
    """Return the motion of a mesh's nodes in every mode, shape (n_modes, n_points, 3)."""
    mesh = model.value.mesh
    shapes = found.solution.motion(mesh.points)
    shapes[:, _block_nodes(mesh)] = found.block
    return shapes
