"""The search for the lowest modes of every part of a bar, with no more kept than the memory allows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from stickout.fem.solid.block_cholesky import direct_bytes
from stickout.fem.solid.eigensearch import BlockIteration, Eigenpairs
from stickout.fem.solid.solvable import Solvable
from stickout.fem.solid.symmetry import Part
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.fem.solid.davidson import GrowingSpace

# Pairs beyond its share that a part is asked for while its factor is there.
_AHEAD = 2
# Modes of the corner bar beyond those wanted that an iteration without a factor starts from.
_MORE = 4
# The near inverse is too small, by up to about this where cells are flat: so is the energy of a residual.
_STRICTER = 10.0


class _Search:
    """The search in one part: the iteration, which goes on when asked for more, and its pairs so far."""

    def __init__(self, part: Part, start: FloatArray, *, tolerance: float) -> None:
        self.model = part.model
        self._given = part, start, tolerance
        self._run: BlockIteration | GrowingSpace | None = None
        self.pairs = Eigenpairs(np.empty(0), np.empty((0, 0)), np.empty(0))

    def ask(self, wanted: int, *, letting_go: bool) -> None:
        """Solve for the wanted pairs; where it must make room, let the factor go afterwards."""
        # Not begun before it is asked, since that makes the factor.
        self._run = self._run or _iteration(*self._given)
        self.pairs = self._run.lowest(wanted)
        if letting_go:
            # While the factor is there: the compliance is kept, so it need not be made again for that.
            _ = self.model.own_compliance
            self.model.let_go()

    @property
    def exhausted(self) -> bool:
        """Return whether the part has no more modes."""
        return len(self.pairs.values) >= self.model.layout.n_unknowns


def lowest_of_parts(
    parts: Sequence[Part], total: int, *, start: FloatArray, tolerance: float
) -> list[Eigenpairs]:
    """Return the lowest modes of every part, enough of each that the lowest of all are among them.

    Each part is asked for its share first. Then the one whose highest mode is lowest is asked for one
    more, until no part can hide a mode below the highest of the lowest. Where the factors of all parts
    would take more than one may, only one is kept at a time; each part is then asked for a little more
    at once, and its compliance is solved while the factor is there.

    Parameters
    ----------
    parts
        The parts.
    total
        How many modes of the whole are wanted.
    start
        Motions that start the iterations, shape (n_points, 3, n).
    tolerance
        Greatest relative error of an eigenvalue.

    Returns
    -------
    list of Eigenpairs
        For each part; a part that is equal to another has the other's.

    Raises
    ------
    SolveError
        The stiffness is not positive, or an iteration did not converge.
    """
    searches = {i: _Search(p, start, tolerance=tolerance) for i, p in enumerate(parts) if p.equal is None}
    one_by_one = _too_large_together([search.model for search in searches.values()])
    share = -(-total // len(parts)) + (_AHEAD if one_by_one else 0)
    for search in searches.values():
        search.ask(share, letting_go=one_by_one)
    while True:
        pairs = [searches[p.equal.part if p.equal else i].pairs for i, p in enumerate(parts)]
        values = np.sort(np.concatenate([p.values for p in pairs]))
        highest = values[total - 1] if len(values) >= total else np.inf
        open_ended = [s for s in searches.values() if not s.exhausted]
        lowest = min(open_ended, key=lambda s: float(s.pairs.values[-1]), default=None)
        if lowest is None or lowest.pairs.values[-1] >= highest * (1 - 1e-6):
            return pairs
        lowest.ask(len(lowest.pairs.values) + 1, letting_go=one_by_one)


def _too_large_together(models: Sequence[Solvable]) -> bool:
    """Return whether the factors of all parts would take more than one may."""
    needed = [direct_bytes(model.layout) for model in models]
    return len(models) > 1 and sum(needed) > models[0].limits.memory


def _iteration(part: Part, start: FloatArray, tolerance: float) -> BlockIteration | GrowingSpace:
    """Return the iteration in one part, started from what of the start shapes has its signs."""
    model = part.model
    columns = part.folded(start)
    size = np.linalg.norm(columns, axis=0)
    columns = columns[:, size > 1e-6 * size.max()]
    if model.direct:
        # By name, not bound: a factor that was let go is made again.
        return BlockIteration(
            lambda right: model.factor.solve(right),
            model.apply_mass,
            start=columns,
            shift=model.shift,
            tolerance=tolerance,
        )
    from stickout.fem.solid.davidson import GrowingSpace, Operators  # here: few bars are large enough for it

    operators = Operators(
        lambda moved: model.two_level.apply(moved),
        model.apply_mass,
        lambda load: model.two_level.nearly(load),
    )
    return GrowingSpace(
        operators,
        lambda wanted: _start(model, columns, wanted),
        shift=model.shift,
        tolerance=tolerance / _STRICTER,
    )


def _start(model: Solvable, columns: FloatArray, wanted: int) -> FloatArray:
    """Return the lowest modes of the corner bar as columns of the whole, some more than are wanted.

    A free body's rigid motions are known, and known exactly: the corner bar's turns are a little stiff.
    """
    corners = model.two_level.corners
    found = corners.iteration(model.two_level.coarse, model.layout.spread(columns)).lowest(wanted + _MORE)
    moved = corners.prolong(found.shapes)
    if model.shift:
        rigid = _rigid_motions(model.mesh.points)
        stays = np.abs(rigid).max(axis=(0, 1)) * 1e-9 > np.abs(rigid[model.held]).max(axis=0, initial=0.0)
        moved = np.concatenate([rigid[:, :, stays], moved], axis=2)
    return model.layout.gather(moved)


def _rigid_motions(points: FloatArray) -> FloatArray:
    """Return three shifts and three turns about the origin, shape (n_points, 3, 6)."""
    out = np.zeros((len(points), 3, 6))
    for i in range(3):
        out[:, i, i] = 1.0
        out[:, :, 3 + i] = np.cross(np.eye(3)[i], points)
    return out
