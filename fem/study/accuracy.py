"""How fine the mesh must be: solve on nested meshes, take the limit, tell what may be left.

The second mesh is a subdivision of the first, so its frequencies lie lower and its compliance higher, and
the exact ones beyond both. What is left is at most half of the step between the two (a third by theory, and
at most a half of it was seen): the limit is put in the middle, a quarter of the step on, and 0.3 of the step
is told as error. Where that is more than was asked for, each direction of the mesh is refined by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Generic, Protocol, TypeVar

import numpy as np

from stickout.fem.later import Later
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.study.apart import (
    COARSE,
    MOST_STEPS,
    OF_SINGLE,
    SINGLE,
    Steps,
    combined,
    worth_solving,
)
from stickout.fem.study.mesh_levels import Levels, directions, first_apart
from stickout.fem.study.meshes_limit import MeshNumbers, Rule, Tended, split, tended, worst_error
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray

# A mesh with more unknowns is not tried: ten seconds and two gigabytes at most (see DEVELOPERS.md).
MOST_APART: Final = 120_000
# Where the second mesh would have more unknowns, its directions are refined apart from the start.
DEAR: Final = 8_000


Plan = Callable[[Sequence[Fineness]], None]


def _unplanned(_: Sequence[Fineness]) -> None:
    """Take no note of which meshes come next."""


class Solved(Protocol):
    """A mesh solved: what it told, and how its matrices are let go."""

    @property
    def numbers(self) -> MeshNumbers:
        """Return what it told; modes of unlike symmetric parts are never taken for each other."""

    def let_go(self) -> None:
        """Let go what is large and not needed for the numbers."""


S = TypeVar("S", bound=Solved)


@dataclass(frozen=True)
class Budget:
    """How large a mesh is before it is solved, the largest tried, that of one step; who is told of them."""

    size: Callable[[Fineness], float]
    most: float = MOST_APART
    single: float = MOST_APART
    plan: Plan = _unplanned


@dataclass(frozen=True)
class Level:
    """One mesh solved: what gives its model, modes, kinds, compliance at the edge [m/N], (3, 3), unknowns.

    A body of revolution is solved without a mesh; its modes are drawn at the nodes of the model's, which is
    made when it is first asked for. ``at_rest`` then gives, for unit forces spread over a section of the bar
    so far from the holder face [m], the motion of the edge and the mean one of the section, (3, 3) each.
    """

    drawn_on: Model | Later[Model]
    modes: Modes
    kinds: Sequence[str]
    compliance: FloatArray
    unknowns: int
    at_rest: Callable[[float], tuple[FloatArray, FloatArray]] | None = None

    @property
    def model(self) -> Model:
        """Return the mesh with its matrices."""
        return self.drawn_on.value if isinstance(self.drawn_on, Later) else self.drawn_on

    @property
    def numbers(self) -> MeshNumbers:
        """Return what it told, the kind of a mode with the symmetric part that it is of."""
        labels = [f"{kind} {part}" for kind, part in zip(self.kinds, self.modes.part, strict=True)]
        return MeshNumbers(self.modes.frequency_hz, labels, self.compliance)

    def let_go(self) -> None:
        """Let go the matrices, which are made again where they are asked for."""
        if not isinstance(self.drawn_on, Later):
            self.drawn_on.let_go()


@dataclass(frozen=True)
class MeshLimit(Generic[S]):
    """What the meshes tend to.

    Attributes
    ----------
    finest
        The finest mesh whose modes are kept.
    frequency_hz
        Frequencies in the limit [Hz], shape (n_modes,).
    error
        Relative error of each, shape (n_modes,).
    compliance
        Static compliance in the limit [m/N], shape (3, 3).
    compliance_error
        Error of each entry over the root of its two diagonal entries' product, shape (3, 3).
    reached
        False when the wanted accuracy was not reached on the finest meshes allowed.
    """

    finest: S
    frequency_hz: FloatArray
    error: FloatArray
    compliance: FloatArray
    compliance_error: FloatArray
    reached: bool


def refine(
    solve: Callable[[Fineness], S],
    levels: Levels,
    *,
    accuracy: float,
    wanted: int,
    size: Callable[[Fineness], int] | None = None,
    plan: Plan = _unplanned,
) -> MeshLimit[S]:
    """Solve on nested meshes, and finer in each direction while the error told is above the accuracy.

    Parameters
    ----------
    solve
        Meshes and solves at a fineness.
    levels
        Which meshes.
    accuracy
        Wanted relative error of the frequencies and of the compliance [-].
    wanted
        How many of the lowest modes must reach it.
    size
        Tells the unknowns of a mesh before it is solved; a mesh too large is not tried. None: all are.
    plan
        Told which meshes come next, at most, as soon as that is known.

    Returns
    -------
    MeshLimit
        Frequencies and compliance in the limit, with the error of each.

    Source
    ------
    Min-max principle on nested spaces; splitting extrapolation, one direction at a time (recalled, not
    opened). Constants measured, see DEVELOPERS.md.
    """
    if size is not None and size(levels.fineness[1]) > DEAR:
        return refine_apart(
            solve,
            first_apart(levels, size),
            accuracy=accuracy,
            wanted=wanted,
            budget=Budget(size, plan=plan),
            single=levels.single,
        )
    plan(levels.fineness)
    coarse = solve(levels.fineness[0])
    coarse.let_go()
    fine = solve(levels.fineness[1])
    pair = [coarse.numbers, fine.numbers]
    limit = limit_at(fine, tended(pair), accuracy=accuracy, wanted=wanted)
    if limit.reached:
        return limit
    fine.let_go()
    # Less than all directions tell no more than the pair does.
    if size is not None and any(size(finer) > MOST_APART for finer in directions(levels).values()):
        return limit
    more: dict[str, MeshNumbers] = {}
    plan(list(directions(levels).values()))
    for name, finer in directions(levels).items():
        level = solve(finer)
        level.let_go()
        more[name] = level.numbers
    return limit_at(fine, split(pair, more), accuracy=accuracy, wanted=wanted)


def refine_apart(
    solve: Callable[[Fineness], S],
    first: Fineness,
    *,
    accuracy: float,
    wanted: int,
    budget: Budget,
    single: Rule = OF_SINGLE,
) -> MeshLimit[S]:
    """Solve on meshes refined in one direction at a time, then in two and three, as ``refine``.

    Parameters
    ----------
    solve
        Meshes and solves at a fineness.
    first
        The coarsest mesh.
    accuracy, wanted
        As ``refine`` takes them.
    budget
        How large meshes are, and may be.
    single
        What may be still to come after one step in each direction.
    """
    meshes = _Stepped(solve, first, wanted, single)
    budget.plan([meshes.fineness(steps) for steps in (COARSE, *SINGLE)])
    meshes.take(COARSE)
    for degree in range(1, MOST_STEPS + 1):
        worth = worth_solving(meshes.numbers, degree, accuracy=accuracy, wanted=wanted)
        sizes = {steps: budget.size(meshes.fineness(steps)) for steps in worth}
        # Of a single step none may be missing; of several steps what is not solved is told.
        if degree == 1 and max(sizes.values()) > budget.single:
            break
        worth = {steps: most for steps, most in worth.items() if degree == 1 or sizes[steps] <= budget.most}
        budget.plan([meshes.fineness(steps) for steps in worth])
        # What may matter most for the least work comes first: often not all need be solved.
        for steps in sorted(worth, key=lambda s: sizes[s] / worth[s]):
            meshes.take(steps)
            if degree > 1 and meshes.limit(accuracy).reached:
                break
        if meshes.limit(accuracy).reached:
            break
    return meshes.limit(accuracy)


class _Stepped(Generic[S]):
    """Meshes by their steps: what each told, and the one nearest to the limit, which is kept."""

    def __init__(self, solve: Callable[[Fineness], S], first: Fineness, wanted: int, single: Rule) -> None:
        self._solve, self.wanted, self._coarse, self._single = solve, wanted, first, single
        self.numbers: dict[Steps, MeshNumbers] = {}
        self._kept: tuple[Steps, S] | None = None

    def fineness(self, steps: Steps) -> Fineness:
        """Return how fine the mesh of so many steps is."""
        return replace(self._coarse, steps=steps)

    def take(self, steps: Steps) -> None:
        """Solve a mesh; keep it where its frequencies lie lowest, so nearest to the limit (min-max)."""
        level = self._solve(self.fineness(steps))
        level.let_go()
        self.numbers[steps] = level.numbers
        if self._kept is None or self._pitch(steps) < self._pitch(self._kept[0]):
            self._kept = steps, level

    def _pitch(self, steps: Steps) -> float:
        """Return the product of the wanted frequencies, as a logarithm."""
        return float(np.log(np.sort(self.numbers[steps].frequency_hz)[: self.wanted]).sum())

    def limit(self, accuracy: float) -> MeshLimit[S]:
        """Return what the meshes so far tend to."""
        assert self._kept is not None
        steps, level = self._kept
        found = combined(self.numbers, steps, single=self._single)
        return limit_at(level, found, accuracy=accuracy, wanted=self.wanted)


def limit_at(finest: S, found: Tended, *, accuracy: float, wanted: int) -> MeshLimit[S]:
    """Return what was found, drawn on a level, and whether it is as good as was asked for.

    Parameters
    ----------
    finest
        The level.
    found
        What was found.
    accuracy, wanted
        As ``refine`` takes them.
    """
    worst = worst_error(found.error, found.compliance_error, wanted=wanted)
    return MeshLimit(
        finest=finest,
        frequency_hz=found.frequency_hz,
        error=found.error,
        compliance=found.compliance,
        compliance_error=found.compliance_error,
        reached=worst <= accuracy,
    )
