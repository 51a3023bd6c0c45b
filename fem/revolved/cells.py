"""The cells that a bar of revolution is solved on: stations along it, lines across each of its lengths."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.revolved.bar import Fine, Length, RevolvedBar
from stickout.fem.revolved.grid import Grid, shared
from stickout.fem.revolved.lines import graded
from stickout.meshes.tagged import FloatArray, IntArray

# Sizes of cells over the radius, or the wall where that is thinner: across it, beside what stress meets along
# the bar, at a free end, and at most.
_ACROSS: Final = 0.5
_AT_STATION: Final = 0.5
_AT_END: Final = 0.7
_LONGEST: Final = 4.0
# How much longer a cell may be than the one beside it along the bar. A thin wall bends near its ends over
# the root of wall times radius, which is many times what its first cells are.
_GROWTH: Final = 3.0
_GROWTH_THIN: Final = 2.0
# In a crowded bar radii at least this part of the widest one apart are lines of every length; others are so
# only where they end a ring, and in the lengths beside.
_APART: Final = 0.15


@dataclass(frozen=True)
class Cells:
    """The cells of a bar of revolution.

    Attributes
    ----------
    x
        Lines between the cells along the bar [m].
    grids
        The cells across each of the bar's lengths.
    length
        Number of the bar's length that each cell along it belongs to.
    ring
        Number of the ring that each cell across belongs to, in every length.
    fine
        Degrees.
    """

    x: FloatArray
    grids: Sequence[Grid]
    length: IntArray
    ring: Sequence[IntArray]
    fine: Fine

    def lines(self, number: int) -> FloatArray:
        """Return the lines between the cells along one of the lengths [m]."""
        mine = np.flatnonzero(self.length == number)
        return self.x[mine[0] : mine[-1] + 2]

    @cached_property
    def faces(self) -> list[Grid]:
        """Return the cells across the faces between two lengths each."""
        return [shared(one, other) for one, other in pairwise(self.grids)]


def cells_of(bar: RevolvedBar, fine: Fine, *, waves: float) -> Cells:
    """Return the cells to solve a bar on; those of a coarser ``fine`` are unions of those of a finer one.

    Parameters
    ----------
    bar
        The bar.
    fine
        How fine.
    waves
        How many waves lie along the bar at most: the longest cells are no longer than a wave is then.
    """
    lengths = bar.lengths
    hot = list(_singular(bar))
    grids = _grids(bar, fine, hot={r for _, r in hot})
    stations = [lengths[0].start, *[one.stop for one in lengths]]
    hot_x = {x for x, _ in hot}
    least = [min(one.least for one in lengths if x in (one.start, one.stop)) for x in stations]
    # Where only shear jumps, stress stays finite.
    sharp = hot_x if len(lengths[-1].radii) > 2 else hot_x - {stations[-1]}
    first = {
        x: (_AT_STATION if x in sharp else _AT_END) * size for x, size in zip(stations, least, strict=True)
    }
    longest = min(_LONGEST * bar.widest, (stations[-1] - stations[0]) / waves)
    growth = _GROWTH_THIN if any(one.thin for one in lengths) else _GROWTH
    x = graded(stations, first=first, longest=longest, hot=hot_x, layers=fine.layers, growth=growth)
    length = np.searchsorted([one.stop for one in lengths], (x[1:] + x[:-1]) / 2)
    ring = [_rings_at(one, grid.lines) for one, grid in zip(lengths, grids, strict=True)]
    return Cells(x, grids, length, ring, fine)


def _grids(bar: RevolvedBar, fine: Fine, *, hot: set[float]) -> list[Grid]:
    """Return the cells across every length; lengths that have the same ones share them."""
    first = {bore: bore for bore in {one.radii[0] for one in bar.lengths} - {0.0}}
    known: dict[tuple[float, ...], Grid] = {}
    out = []
    for breaks in _breaks(bar):
        if breaks not in known:
            lines = graded(breaks, first=first, longest=_ACROSS * bar.widest, hot=hot, layers=fine.layers)
            known[breaks] = Grid(lines, fine.across)
        out.append(known[breaks])
    return out


def _breaks(bar: RevolvedBar) -> Iterator[tuple[float, ...]]:
    """Yield the radii at which every length has lines: its own, its neighbours' and those of all lengths."""
    everywhere = set(_rungs(bar.radii, _APART * bar.widest if bar.crowded else 0.0))
    own = [set(one.radii) for one in bar.lengths]
    for number, one in enumerate(bar.lengths):
        kept = everywhere.union(*own[max(number - 1, 0) : number + 2])
        yield tuple(sorted(r for r in kept if one.radii[0] <= r <= one.radii[-1]))


def _rungs(radii: Sequence[float], apart: float) -> Iterator[float]:
    """Yield rising radii at least so far apart."""
    last = -np.inf
    for r in radii:
        if r - last >= apart:
            yield r
            last = r


def _rings_at(length: Length, lines: FloatArray) -> IntArray:
    """Return the ring that each cell across is of."""
    return np.searchsorted(length.radii, (lines[1:] + lines[:-1]) / 2) - 1


def _singular(bar: RevolvedBar) -> Iterator[tuple[float, float]]:
    """Yield station and radius of the points where stress is singular, or has a jump."""
    first, last = bar.lengths[0], bar.lengths[-1]
    if bar.held:
        yield from ((first.start, r) for r in first.radii if r > 0)
    for one in (o for o in bar.lengths if o.bed is not None):
        yield from ((x, one.radii[-1]) for x in (one.start, one.stop))
    for one, other in pairwise(bar.lengths):
        inside, outside = one.radii, other.radii
        shallow = bar.shallow(one, other)
        if abs(inside[-1] - outside[-1]) > shallow:
            yield one.stop, min(inside[-1], outside[-1])
        if abs(inside[0] - outside[0]) > shallow:
            yield one.stop, max(inside[0], outside[0])
        yield from ((one.stop, r) for r in set(inside[1:-1]) ^ set(outside[1:-1]))
    # The edge's force pulls the last face sideways, not the sides beside it: shear jumps at its corners.
    loaded = last.radii[1:-1] if bar.crowded else last.radii
    yield from ((last.stop, r) for r in loaded if r > 0)
