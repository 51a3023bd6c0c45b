"""A bar of revolution in a bored block that is meshed: springs over the bore join the two.

The bar alone on those springs falls apart into the orders of its series, the block alone on them is a chain
of planes; each is factored by itself. What they do to each other passes through the skin of the bar in the
bore, whose few unknowns are solved for with a small dense matrix.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.revolved.bar import Fine, RevolvedBar
from stickout.fem.revolved.bore import Bore
from stickout.fem.revolved.problem import Block, Mode, Problem
from stickout.fem.revolved.section import BENDING
from stickout.fem.revolved.skin import Skin
from stickout.fem.revolved.solve import Solution, cells_for, waves_of
from stickout.fem.revolved.wave import Wave, Way
from stickout.fem.solid.block_cholesky import BlockCholesky, factor_chain
from stickout.fem.solid.eigensearch import BlockIteration
from stickout.fem.solid.elasticity import CellMatrices
from stickout.fem.solid.layout import Layout, chain_layout
from stickout.fem.solid.slab import Assembly, Ties
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

_TOLERANCE: Final = 1e-7
# Orders above the first hardly move the bar in its bore: finer cells changed no figure by more than 1e-5.
_OVALLING: Final = Fine(2, 2, 0)
BLOCK: Final = "holder"
"""The region that is the block."""


@dataclass(frozen=True)
class MeshedBlock:
    """A bored block.

    Attributes
    ----------
    mesh, matrices
        Its mesh and element matrices.
    bore
        The springs in its bore.
    held
        What is held still, shape (n_points, 3).
    start
        Nodes from which its unknowns may be counted: of one lip of its saw cut, or above the bore.
    """

    mesh: TaggedMesh
    matrices: CellMatrices
    bore: Bore
    held: BoolArray
    start: IntArray

    @cached_property
    def ties(self) -> Ties:
        """Return the springs in the bore, with all beyond them standing still."""
        return self.bore.ties()

    @cached_property
    def layout(self) -> Layout:
        """Return the order of the unknowns."""
        return chain_layout(self.mesh, self.held, ties=[self.ties.nodes], start=self.start)

    @cached_property
    def factor(self) -> BlockCholesky:
        """Return the factored stiffness."""
        return factor_chain(Assembly(self.mesh.cells, self.matrices, [self.ties], self.layout))

    def inertia(self, columns: FloatArray) -> FloatArray:
        """Return the mass times columns, both of shape (n_unknowns, n)."""
        moved = self.layout.spread(columns)
        pushed = np.zeros_like(moved)
        cells, mass = self.mesh.cells, self.matrices.scalar_mass()
        own = moved[cells]
        np.add.at(pushed, cells, (mass @ own.reshape(*cells.shape, -1)).reshape(own.shape))
        return self.layout.gather(pushed)

    def let_go(self) -> None:
        """Forget the factor; it can be made again."""
        self.__dict__.pop("factor", None)

    @property
    def skin(self) -> IntArray:
        """Return the unknowns of the nodes in the bore, shape (3 n_nodes,)."""
        return self.layout.place[self.bore.nodes].ravel()

    def leaning(self) -> FloatArray:
        """Return what the block as a whole may do: lean every way from where it is held, (n_unknowns, 3)."""
        base = self.mesh.points[self.held.all(axis=1), 2].mean()
        away = np.abs(self.mesh.points[:, 2] - base)
        return self.layout.gather(away[:, None, None] * np.eye(3))

    def energy(self, columns: FloatArray) -> FloatArray:
        """Return the strain energy [J] of columns (n_unknowns, n) in its cells, shape (n,)."""
        moved = self.layout.spread(columns)[self.mesh.cells]
        every = np.arange(len(self.mesh.cells))
        twice = self.matrices.twice_energies(every, moved.reshape(len(every), -1, columns.shape[1]))
        return np.asarray(twice.sum(axis=0) / 2)


class BarInBore:
    """A bar of revolution on the springs of a bore: its ways of moving, and how its skin there answers.

    Parameters
    ----------
    bar
        The bar; its first length lies in the bore, on the bore's springs as its bed.
    fine
        How fine.
    orders
        The highest order of the series.
    wanted
        How many modes are to be found.
    """

    def __init__(self, bar: RevolvedBar, fine: Fine, *, orders: int, wanted: int) -> None:
        cells = cells_for(bar, fine, wanted=wanted)
        waves = waves_of(bar, cells, wanted=wanted)
        blocks = [Block(wave, way) for way, wave in waves.items()]
        coarse = cells_for(bar, _OVALLING, wanted=wanted)
        for order in range(2, orders + 1):
            wave = Wave(bar, coarse, order=order, parts=BENDING, count=1)
            blocks += [Block(wave, Way(order, BENDING, turn)) for turn in (0.0, np.pi / 2)]
        self.motions, self.orders = Problem(blocks, mass=bar.edge_mass), orders
        self.bed = next(one.bed[0] for one in bar.lengths if one.bed is not None)
        self.n_unknowns = self.motions.part(len(blocks) - 1).stop
        known = {wave: Skin(wave) for wave in dict.fromkeys(one.wave for one in blocks)}
        self._skins = [known[one.wave] for one in blocks]
        self._ends = np.cumsum([one.size for one in self._skins])

    @property
    def n_skin(self) -> int:
        """Return how many unknowns the skin has, in all ways of moving."""
        return int(self._ends[-1])

    def skin(self, columns: FloatArray) -> FloatArray:
        """Return how the skin moves under columns (n_unknowns, n), shape (n_skin, n)."""
        parts = [columns[self.motions.part(number)] for number in range(len(self._skins))]
        return np.concatenate([skin.motion(own) for skin, own in zip(self._skins, parts, strict=True)])

    def on_skin(self, load: FloatArray) -> FloatArray:
        """Return loads on the skin (n_skin, n) as columns (n_unknowns, n): the transpose of ``skin``."""
        parts = np.split(load, self._ends[:-1])
        return np.concatenate([skin.loads(own) for skin, own in zip(self._skins, parts, strict=True)])

    def flexed(self, load: FloatArray) -> FloatArray:
        """Return how the skin answers loads on it while the bore stands still, both (n_skin, n)."""
        parts = np.split(load, self._ends[:-1])
        return np.concatenate([skin.flex @ own for skin, own in zip(self._skins, parts, strict=True)])

    def pull(self, bore: Bore) -> FloatArray:
        """Return what motions of a bore's nodes pull at the skin, shape (n_skin, 3 n_nodes)."""
        along = {skin: bore.along(skin.lines, skin.degree) for skin in dict.fromkeys(self._skins)}
        ways = zip(self._skins, self.motions.blocks, strict=True)
        parts = [bore.joined(along[skin], one.way) for skin, one in ways]
        return np.concatenate([one.reshape(-1, 3 * len(bore.nodes)) for one in parts])

    def start(self) -> FloatArray:
        """Return motions that start a search, shape (n_unknowns, n)."""
        blocks = self.motions.blocks
        out = np.zeros((self.n_unknowns, sum(one.wave.first.shape[1] for one in blocks)))
        column = 0
        for number, one in enumerate(blocks):
            first = one.wave.first
            out[self.motions.part(number), column : column + first.shape[1]] = first
            column += first.shape[1]
        return out


class Joined:
    """Stiffness and mass of a bar and a block joined by springs, and what solves with them."""

    def __init__(self, bar: BarInBore, block: MeshedBlock) -> None:
        self._bar, self._block = bar, block
        self._pull = bar.pull(block.bore)
        self._at = block.skin
        load = np.zeros((block.layout.n_unknowns, len(self._pull)))
        load[self._at] = self._pull.T
        self._loop = np.eye(bar.n_skin) - bar.flexed(block.factor.flexibility(load))

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the inverse of the stiffness times columns, both of shape (n_unknowns, n)."""
        bar, factor = self._bar, self._block.factor
        on_bar, on_block = load[: bar.n_unknowns], load[bar.n_unknowns :].copy()
        free = bar.skin(bar.motions.solve(on_bar))
        pulled = self._pull @ factor.solve(on_block)[self._at]
        skin = np.linalg.solve(self._loop, free + bar.flexed(pulled))
        on_block[self._at] += self._pull.T @ skin
        block = factor.solve(on_block)
        on_bar = on_bar + bar.on_skin(self._pull @ block[self._at])
        return np.concatenate([bar.motions.solve(on_bar), block])

    def inertia(self, columns: FloatArray) -> FloatArray:
        """Return the mass times columns, both of shape (n_unknowns, n)."""
        n = self._bar.n_unknowns
        return np.concatenate([self._bar.motions.inertia(columns[:n]), self._block.inertia(columns[n:])])


@dataclass(frozen=True)
class InBlock:
    """A bar in a block, solved: the bar's share as a solution, and how the block's nodes move in each mode.

    ``block`` has the shape (n_modes, n_points, 3) [kg^-1/2], ``start`` is what starts the next search.
    """

    solution: Solution
    block: FloatArray
    start: FloatArray


def solve_in_block(
    bar: BarInBore, block: MeshedBlock, *, wanted: int, start: FloatArray | None = None
) -> InBlock:
    """Return the lowest modes of a bar in a block and its compliance.

    Parameters
    ----------
    bar
        The bar on the springs of the bore.
    block
        The block on the same springs.
    wanted
        How many modes.
    start
        What starts the search, where a like bar in a like block was solved before.

    Raises
    ------
    SolveError
        The stiffness is not positive, or the iteration did not converge.

    Source
    ------
    Elimination of the interface: the Woodbury formula (recalled, not opened); computed here.
    """
    joined, n = Joined(bar, block), bar.n_unknowns
    given = bar.start() if start is None else start
    lean = block.leaning()
    first = np.zeros((n + len(lean), given.shape[1] + lean.shape[1]))
    first[: len(given), : given.shape[1]] = given
    first[n:, given.shape[1] :] = lean
    run = BlockIteration(joined.solve, joined.inertia, start=first, tolerance=_TOLERANCE)
    pairs = run.lowest(wanted)
    motions = bar.motions
    motions.pairs = pairs._replace(shapes=pairs.shapes[:n])
    own = pairs.shapes[n:]
    load = np.zeros((n + len(lean), 3))
    load[:n] = motions.edge_of_all.T
    compliance = load.T @ joined.solve(load)
    moved = block.layout.spread(own).transpose(2, 0, 1)
    return InBlock(
        solution=Solution(
            frequency_hz=np.sqrt(pairs.values) / (2 * np.pi),
            edge=motions.edge(motions.pairs.shapes, 0.0).T,
            energy=_energies(bar, pairs.values, block.energy(own)),
            residual=pairs.residuals,
            labels=["in block"] * wanted,
            compliance=(compliance + compliance.T) / 2,
            unknowns=len(first),
            modes=[Mode(motions, number, 0.0) for number in range(wanted)],
            problems=[motions],
        ),
        block=moved,
        start=motions.pairs.shapes,
    )


def _energies(bar: BarInBore, values: FloatArray, of_block: FloatArray) -> dict[str, FloatArray]:
    """Return the strain energy [J] of each mode in the bar's regions, in the block, and in what joins them.

    The last is what is left of all, since the springs are counted on either side by themselves.
    """
    own = {name: one for name, one in bar.motions.energies().items() if name != bar.bed}
    rest = values / 2 - np.sum([*own.values(), of_block], axis=0)
    return own | {BLOCK: of_block, bar.bed: rest}
