"""A body that can be solved for loads: its factor, or an iteration where that would be too large."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from stickout.fem.solid.block_cholesky import BlockCholesky, factor_chain
from stickout.fem.solid.body import Body
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.fem.solid.two_level import TwoLevel

# What an iteration may leave of the error in the energy norm: a compliance is out by the square of it.
_ROUGH: Final = 3e-5


@dataclass(frozen=True)
class Solvable(Body):
    """A body with the inverse of its stiffness, made when first asked for."""

    @cached_property
    def factor(self) -> BlockCholesky:
        """Return the factored stiffness."""
        return factor_chain(self.assembly)

    @cached_property
    def two_level(self) -> TwoLevel:
        """Return the stiffness with an approximate inverse, for when the factor would be too large."""
        from stickout.fem.solid.two_level import TwoLevel  # here: few bars are large enough for it

        return TwoLevel(self)

    @property
    def direct(self) -> bool:
        """Return whether it is factored."""
        return self.limits.allow(self.layout, flatness=self.flatness)

    @property
    def inverse(self) -> BlockCholesky | TwoLevel:
        """Return what solves for columns: the factor, or the iteration where that would be too large."""
        return self.factor if self.direct else self.two_level

    @cached_property
    def own_compliance(self) -> FloatArray:
        """Return the motion of the edge under the loads that this model has of it [m/N], shape (3, 3)."""
        if self.direct:
            return self.edge_loads.T @ self.factor.solve(self.edge_loads)
        moved = self.two_level.solve(self.edge_loads, left=_ROUGH)
        compliance = self.edge_loads.T @ moved
        # So that what an iteration leaves enters squared, between unlike directions too.
        return compliance + compliance.T - moved.T @ self.two_level.apply(moved)

    def let_go(self) -> None:
        """Forget the factor, or what stands in for it; it can be made again."""
        for known in ("factor", "two_level"):
            self.__dict__.pop(known, None)
