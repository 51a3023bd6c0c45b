"""A bar of revolution: lengths made of rings, what holds them, and the cells it is solved on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.revolved.lines import graded
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.solid.edge import carried
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.supports import Spring
from stickout.meshes.tagged import FloatArray, IntArray

# Sizes of cells over the radius, or the wall where that is thinner: across it, beside what stress meets along
# the bar, at a free end, and at most.
_ACROSS: Final = 0.5
_AT_STATION: Final = 0.5
_AT_END: Final = 0.7
_LONGEST: Final = 4.0
# A bar of more radii is crowded; its shoulders lower than this part of the radius are not drawn together at.
_MANY_RADII: Final = 8
_SHALLOW: Final = 0.05


@dataclass(frozen=True)
class Ring:
    """Material between two radii [m]; the region's name is that of the mesh."""

    inner: float
    outer: float
    material: Elastic
    region: str


@dataclass(frozen=True)
class Length:
    """A length of bar of one make: from ``start`` to ``stop`` [m], rings from inside out, and its bed.

    ``bed`` names springs on the outer side.
    """

    start: float
    stop: float
    rings: Sequence[Ring]
    bed: tuple[str, Spring] | None = None

    @property
    def radii(self) -> list[float]:
        """Return the radii that bound its rings [m], rising; the axis counts as one."""
        return [self.rings[0].inner, *[ring.outer for ring in self.rings]]

    @property
    def least(self) -> float:
        """Return its radius, or its thinnest wall [m]."""
        return min(ring.outer - ring.inner for ring in self.rings)


@dataclass(frozen=True)
class RevolvedBar:
    """Lengths along the bar, whether the first face is held still, the edge [m], (3,), and its mass [kg]."""

    lengths: Sequence[Length]
    held: bool
    edge: FloatArray
    edge_mass: float = 0.0

    @property
    def radii(self) -> list[float]:
        """Return every radius at which a ring of some length begins or ends [m], rising."""
        return sorted({r for one in self.lengths for r in one.radii})

    @property
    def crowded(self) -> bool:
        """Return whether it has so many radii that shallow shoulders must do with the cells there are."""
        return len(self.radii) > _MANY_RADII

    @property
    def blunted(self) -> float:
        """Return what shallow shoulders may lower the frequencies by at most, relatively, beyond such cells.

        Source
        ------
        Material behind a shoulder carries no stress over about the shoulder's height (computed here: 0.3 to
        0.7 of this with nine of them 0.3 and 5 mm apart).
        """
        whole = self.lengths[-1].stop - self.lengths[0].start
        heights = (
            (abs(one.radii[end] - other.radii[end]), _shallow(self, one, other), one.radii[-1])
            for one, other in pairwise(self.lengths)
            for end in (0, -1)
        )
        return float(sum(h**2 / (radius * whole) for h, shallow, radius in heights if h <= shallow))

    @cached_property
    def carried(self) -> FloatArray:
        """Return the motion of the edge from translation and rotation of the last face, shape (3, 6)."""
        lever = self.edge - np.array([self.lengths[-1].stop, 0.0, 0.0])
        return np.asarray(carried(lever[None])[0])


@dataclass(frozen=True)
class Fine:
    """How fine: degree of the polynomials along the bar and across it, cuts toward singular points."""

    along: int
    across: int
    layers: int


@dataclass(frozen=True)
class Cells:
    """The cells of a bar of revolution.

    Attributes
    ----------
    x, r
        Lines between the cells along the bar and across it [m].
    length
        Number of the bar's length that each cell along it belongs to.
    ring
        Number of the ring that each cell across belongs to, in every length, -1 where there is none.
    fine
        Degrees.
    """

    x: FloatArray
    r: FloatArray
    length: IntArray
    ring: IntArray
    fine: Fine

    @cached_property
    def integrals(self) -> FloatArray:
        """Return integrals over every cell across of products of its polynomials p and q: (7, n, k, k).

        Of p q r, p q, p q / r, p q', p q' r, p' q and p' q' r, where r is the radius.
        """
        given = polynomials(self.fine.across)
        size = np.diff(self.r)[:, None]
        radius = self.r[:-1, None] + size * given.points
        plain = np.broadcast_to(given.weights, radius.shape)
        long = size * plain
        value_value, value_slope, slope_value, slope_slope = given.products.reshape(4, len(given.points), -1)
        found = [
            np.stack([long * radius, long, long / radius]) @ value_value,
            np.stack([plain, plain * radius]) @ value_slope,
            (plain @ slope_value)[None],
            (plain * radius / size @ slope_slope)[None],
        ]
        k = self.fine.across + 1
        return np.concatenate(found).reshape(7, len(self.r) - 1, k, k)


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
    radii = bar.radii
    hot = list(_singular(bar))
    hot_r = {r for _, r in hot}
    bores = {one.radii[0] for one in lengths} - {0.0}
    widest = radii[-1]
    r = graded(
        radii,
        first={bore: bore for bore in bores},
        longest=_ACROSS * widest,
        hot=hot_r,
        layers=fine.layers,
    )
    stations = [lengths[0].start, *[one.stop for one in lengths]]
    hot_x = {x for x, _ in hot}
    least = [min(one.least for one in lengths if x in (one.start, one.stop)) for x in stations]
    first = {
        x: (_AT_STATION if x in hot_x else _AT_END) * size for x, size in zip(stations, least, strict=True)
    }
    longest = min(_LONGEST * widest, (stations[-1] - stations[0]) / waves)
    x = graded(stations, first=first, longest=longest, hot=hot_x, layers=fine.layers)
    middle, across = (x[1:] + x[:-1]) / 2, (r[1:] + r[:-1]) / 2
    length = np.searchsorted([one.stop for one in lengths], middle)
    ring = np.stack([_rings_at(one, across) for one in lengths])
    return Cells(x, r, length, ring, fine)


def _rings_at(length: Length, radii: FloatArray) -> IntArray:
    """Return the ring at each radius, -1 where there is none."""
    place = np.searchsorted(length.radii, radii) - 1
    return np.where(place < len(length.rings), place, -1)


def _shallow(bar: RevolvedBar, one: Length, other: Length) -> float:
    """Return up to which height a shoulder between two lengths does with the cells there are [m]."""
    return _SHALLOW * max(one.radii[-1], other.radii[-1]) if bar.crowded else 0.0


def _singular(bar: RevolvedBar) -> Iterator[tuple[float, float]]:
    """Yield station and radius of the points where stress is singular, or has a jump."""
    first, last = bar.lengths[0], bar.lengths[-1]
    if bar.held:
        yield from ((first.start, r) for r in first.radii if r > 0)
    for one in (o for o in bar.lengths if o.bed is not None):
        yield from ((x, one.radii[-1]) for x in (one.start, one.stop))
    for one, other in pairwise(bar.lengths):
        inside, outside = one.radii, other.radii
        shallow = _shallow(bar, one, other)
        if abs(inside[-1] - outside[-1]) > shallow:
            yield one.stop, min(inside[-1], outside[-1])
        if abs(inside[0] - outside[0]) > shallow:
            yield one.stop, max(inside[0], outside[0])
        yield from ((one.stop, r) for r in set(inside[1:-1]) ^ set(outside[1:-1]))
    yield from ((last.stop, r) for r in last.radii[1:-1])
