"""What a term of stiffness or mass is multiplied by at a point, whatever its matrices are made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from stickout.fem.compare.inputs import NORMAL
from stickout.fem.solid.setting import owner_of
from stickout.fem.sweep.points import Points
from stickout.meshes.tagged import FloatArray

Factor = Callable[[Points], FloatArray]


@dataclass(frozen=True)
class Stretch:
    """The end of a bar that is stretched: from ``start`` to ``end`` [m] at the reference."""

    start: float
    end: float

    def of(self, points: Points) -> FloatArray:
        """Return the stretch at points [-], shape (n_points,)."""
        return (points.overhang - self.start) / (self.end - self.start)


@dataclass(frozen=True)
class Factors:
    """Factors of the terms of a part, over the point ``reference`` that its matrices were made at."""

    reference: Points
    stretch: Stretch

    def young(self, region: str) -> Factor:
        """Return the factor of a region's modulus."""
        owner = owner_of(region)
        return lambda points: points.young[owner] / self.reference.young[owner]

    def density(self, region: str) -> Factor:
        """Return the factor of a region's density."""
        owner = owner_of(region)
        return lambda points: points.density[owner] / self.reference.density[owner]

    def stretched(self, factor: Factor, power: int) -> Factor:
        """Return a factor times a power of the stretch."""
        return lambda points: factor(points) * self.stretch.of(points) ** power

    def faces(self, name: str) -> Factor:
        """Return the factor of touching faces, by the tie's name."""
        if name.endswith(NORMAL):
            return lambda points: points.normal / self.reference.normal
        return lambda points: points.shear / self.reference.shear
