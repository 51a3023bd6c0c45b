"""A bar of revolution: lengths made of rings, and what holds them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.solid.edge import carried
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.supports import Spring
from stickout.meshes.tagged import FloatArray

# A bar of more radii is crowded; its shoulders lower than this part of the radius are not drawn together at.
_MANY_RADII: Final = 8
_SHALLOW: Final = 0.05
# A wall thinner than this part of its radius bends by itself near its ends.
_THIN: Final = 0.25


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

    @property
    def thin(self) -> bool:
        """Return whether it is a tube of so thin a wall that it bends by itself near its ends."""
        bore, outer = self.radii[0], self.radii[-1]
        return bore > 0 and outer - bore < _THIN * outer


@dataclass(frozen=True)
class _Shoulder:
    """A shoulder's height [m], and what the material behind it is of the bar."""

    height: float
    blunts: float


@dataclass(frozen=True)
class RevolvedBar:
    """A bar of revolution.

    Attributes
    ----------
    lengths
        Lengths along the bar.
    held
        Whether the first face is held still.
    edge, edge_mass
        The edge [m], (3,), and its mass [kg].
    blunt
        What shoulders that are not drawn together at may be off by, relatively, all together.
    """

    lengths: Sequence[Length]
    held: bool
    edge: FloatArray
    edge_mass: float = 0.0
    blunt: float = 3e-4

    @property
    def radii(self) -> list[float]:
        """Return every radius at which a ring of some length begins or ends [m], rising."""
        return sorted({r for one in self.lengths for r in one.radii})

    @cached_property
    def widest(self) -> float:
        """Return its greatest radius [m]."""
        return max(one.radii[-1] for one in self.lengths)

    @property
    def crowded(self) -> bool:
        """Return whether it has so many radii that shallow shoulders must do with the cells there are."""
        return len(self.radii) > _MANY_RADII

    @property
    def blunted(self) -> float:
        """Return about what shallow shoulders lower the frequencies by, relatively, beyond such cells."""
        return float(sum(one.blunts for one in self._shoulders if one.height <= self._low))

    def shallow(self, one: Length, other: Length) -> float:
        """Return up to which height a shoulder between two lengths does with the cells there are [m]."""
        return min(self._low, _SHALLOW * max(one.radii[-1], other.radii[-1]))

    @cached_property
    def _low(self) -> float:
        """Return up to which height shoulders together blunt no more than they may [m]: none, uncrowded."""
        total = low = 0.0
        for one in self._shoulders if self.crowded else ():
            total += one.blunts
            if total > self.blunt:
                break
            low = one.height
        return low

    @cached_property
    def _shoulders(self) -> list[_Shoulder]:
        """Return the shoulders that are low beside the bar, the lowest first.

        Source
        ------
        Material behind a shoulder carries no stress over about the shoulder's height: a ring so high and so
        long is missing (computed here).
        """
        whole = self.lengths[-1].stop - self.lengths[0].start
        every = (
            _Shoulder(h, h**2 / (radius * whole))
            for one, other in pairwise(self.lengths)
            for radius in (max(one.radii[-1], other.radii[-1]),)
            for h in (abs(one.radii[end] - other.radii[end]) for end in (0, -1))
            if 0 < h <= _SHALLOW * radius
        )
        return sorted(every, key=lambda one: one.height)

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
