"""How much work a set-up will be: estimated before a solve, kept count of while meshes finish."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Final

from stickout.fem.setup.parts import Setup
from stickout.fem.solid.block_cholesky import USUAL
from stickout.fem.solid.setting import hold_of
from stickout.meshes.pieces import Fineness, quarter_turns
from stickout.meshes.tool import mesh_size

# Operations that a block's factor and its coupling take, over the cube of its unknowns.
FACTOR: Final = 7 / 3
# What every unknown costs beside, in operations: summing, solves, the search (computed here).
EACH: Final = 2e5


@dataclass(frozen=True)
class Ahead:
    """Where a computation stands: solutions begun, and work in floating-point operations.

    Attributes
    ----------
    begun
        Solutions begun, the one at hand counted in.
    done
        Work of those that are finished.
    planned
        The same and that of all to come, as far as anybody knows yet.
    """

    begun: int
    done: float
    planned: float


Progress = Callable[[Ahead], None]


class Account:
    """Work done and to come, told before each solution.

    Parameters
    ----------
    progress
        Called before each solution; None: nobody listens.
    """

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._begun, self._done = 0, 0.0
        self._coming: list[float] = []

    def plan(self, works: Sequence[float]) -> None:
        """Take down the work of what comes next, in place of what was planned and not begun."""
        self._coming = list(works)

    @contextmanager
    def solving(self, work: float) -> Iterator[None]:
        """Tell where the computation stands as a solution begins, and count it as done when it ends."""
        self._begun += 1
        if work in self._coming:
            self._coming.remove(work)
        if self._progress is not None:
            self._progress(Ahead(self._begun, self._done, self._done + work + sum(self._coming)))
        yield
        self._done += work


def mesh_work(setup: Setup, fineness: Fineness) -> float:
    """Return about how much work the solution on a mesh is, before there is one.

    Parameters
    ----------
    setup
        The set-up in the frame it is solved in.
    fineness
        How fine.

    Returns
    -------
    float
        Floating-point operations: factors of chains of equal blocks, laid along the bar or across it, or an
        iteration where they would be wider than ``Limits`` allows.
    """
    size = mesh_size(setup.bar, hold=hold_of(setup), shim=setup.shim, wrap=setup.wrap, fineness=fineness)
    unknowns = 3 * size.points
    mirrors = _mirrors(setup)
    parts = 2 ** sum(mirrors)
    halved = [
        rows / (2 if mirror else 1)
        for rows, mirror in zip((size.sideways, size.upward), mirrors, strict=True)
    ]
    planes = max(size.layers, *halved)
    block = float(min(unknowns / parts / planes, USUAL.width))
    return unknowns * (FACTOR * block**2 + EACH)


def _mirrors(setup: Setup) -> tuple[bool, bool]:
    """Return whether left and right, and top and bottom, of a held bar are alike."""
    grip, edge = setup.grip, setup.edge
    hold = hold_of(setup)
    straight = grip.alike_all_round or quarter_turns(setup.bar) is not None
    split = hold.block is not None and hold.block.split
    one_sided = setup.shim is not None or hold.block is not None or hold.screws_mm or hold.pressed_mm
    loaded = edge.mass_g > 0
    sideways = straight and not split and not (loaded and edge.offset_y_mm)
    return sideways, straight and not one_sided and not (loaded and edge.offset_z_mm)
