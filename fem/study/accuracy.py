"""How fine the mesh must be: solve on nested meshes, take the limit, tell what may be left.

The second mesh is a subdivision of the first, so its frequencies lie lower and its compliance higher, and
the exact ones beyond both. What is left is at most half of the step between the two (a third by theory, and
at most a half of it was seen): the limit is put in the middle, a quarter of the step on, and 0.3 of the step
is told as error. Where that is more than was asked for, each direction of the mesh is refined by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.later import Later
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.study.apart import COARSE, MOST_STEPS, SINGLE, Steps, combined, worth_solving
from stickout.fem.study.meshes_limit import MeshNumbers, Tended, split, tended
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Levels:
    """Meshes of a bar.

    Attributes
    ----------
    fineness
        Two nested ones, the first coarse.
    soft
        Whether a softly held rim makes finer cells there idle.
    graded
        What directions are refined apart from, in place of the first: as coarse away from singular lines, and
        as fine there as the accuracy asks for. None: the first.
    """

    fineness: Sequence[Fineness]
    soft: bool = False
    graded: Fineness | None = None


def nested(coarse: Fineness, *, soft: bool = False) -> Levels:
    """Return a coarse mesh, and it with every interval halved and what touches a singular line once more."""
    return Levels((coarse, replace(coarse, cuts=1, deep=1)), soft)


# First meshes. Their errors, in parts of the step to the second mesh: 0.06 to 0.43, whatever the section and
# the grip (measured, see DEVELOPERS.md and tests/benchmarks/bench_told_error.py).
ROUND: Final = nested(Fineness(2, 1, 0.11, 1.0, 0.11))
ROUND_SOFT: Final = nested(Fineness(2, 1, 0.12, 0.7, 0.12), soft=True)
# On a soft bed and without a shoulder or a wrap's end, no line is singular enough to be cut once more.
ROUND_SMOOTH: Final = Levels(
    (Fineness(2, 1, 0.3, 1.0, 0.25), Fineness(2, 1, 0.3, 1.0, 0.25, cuts=1)), soft=True
)
# A bed that is stiff beside the bar leaves a line where stress grows faster than at a held face's rim.
ROUND_STIFF: Final = Levels(
    (Fineness(2, 1, 0.05, 0.8, 0.05, 2.5, deep=2), Fineness(2, 1, 0.05, 0.8, 0.05, 2.5, cuts=1, deep=3))
)
FLAT: Final = nested(Fineness(2, 1, 0.167, 0.7, 0.15))
FLAT_SOFT: Final = nested(Fineness(2, 1, 0.2, 0.7, 0.2), soft=True)
# Where a grip holds part of a side as if it were one with it, every layer counts less than its rim.
PRESSED: Final = nested(Fineness(2, 1, 0.18, 1.2, 0.18))
# The same for directions apart: halved so often at the rim that single steps tell about the accuracy. What
# they told fell by half with each cut, and by how slender the bar is (computed here).
_AT_RIM: Final = 0.026
_MOST_CUTS_AT_RIM: Final = 5

# One mesh alone, where finer ones are too large: its frequencies were never off by more than 1.1 %.
_ALONE: Final = 0.05
# A mesh with more unknowns is not tried: ten seconds and two gigabytes at most (see DEVELOPERS.md).
MOST_APART: Final = 120_000
# Where the second mesh would have more unknowns, its directions are refined apart from the start.
DEAR: Final = 8_000
# The largest of the meshes of one step from a graded one, where that is to be coarsened at its lines.
_MOST_OF_FIRST_STEPS: Final = 60_000
# A second mesh above this is avoided by a coarser pair, as long as that helps.
MOST_AT_FIRST: Final = 120_000
_COARSER_TIMES: Final = 6


@dataclass(frozen=True)
class Level:
    """One mesh solved: what gives its model, modes, kinds, compliance at the edge [m/N], (3, 3), unknowns.

    A body of revolution is solved without a mesh; its modes are drawn at the nodes of the model's, which is
    made when it is first asked for.
    """

    drawn_on: Model | Later[Model]
    modes: Modes
    kinds: Sequence[str]
    compliance: FloatArray
    unknowns: int

    @property
    def model(self) -> Model:
        """Return the mesh with its matrices."""
        return self.drawn_on.value if isinstance(self.drawn_on, Later) else self.drawn_on


@dataclass(frozen=True)
class MeshLimit:
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

    finest: Level
    frequency_hz: FloatArray
    error: FloatArray
    compliance: FloatArray
    compliance_error: FloatArray
    reached: bool


def pressed(*, slender: float, accuracy: float) -> Levels:
    """Return the meshes where a grip holds part of a side as if it were one with it.

    Parameters
    ----------
    slender
        Overhang over the bar's depth [-].
    accuracy
        Wanted relative error [-].
    """
    needed = np.ceil(np.log2(_AT_RIM / (slender * accuracy)))
    cuts = int(np.clip(needed, 0, _MOST_CUTS_AT_RIM))
    return replace(PRESSED, graded=Fineness(2, 1, 0.18, 0.6, 0.18, sharp=(cuts, 0, cuts)))


def fitting(levels: Levels, size: Callable[[Fineness], int]) -> Levels:
    """Return levels whose second mesh is of bearable size, by coarser cells where that helps.

    Parameters
    ----------
    levels
        The meshes that suit the bar.
    size
        Tells the unknowns of a mesh.
    """
    had = size(levels.fineness[-1])
    for _ in range(_COARSER_TIMES):
        if had <= MOST_AT_FIRST:
            break
        tried = coarser(levels)
        has = size(tried.fineness[-1])
        if has > 0.97 * had:
            break
        levels, had = tried, has
    return levels


def coarser(levels: Levels) -> Levels:
    """Return levels with cells half as long again, for bars whose finest detail would make them too large."""
    return replace(
        levels,
        fineness=[
            replace(f, skin=1.5 * f.skin, longest=1.5 * f.longest, first=1.5 * f.first, rings=1)
            for f in levels.fineness
        ],
    )


def refine(
    solve: Callable[[Fineness], Level],
    levels: Levels,
    *,
    accuracy: float,
    wanted: int,
    size: Callable[[Fineness], int] | None = None,
) -> MeshLimit:
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
        return _apart(solve, levels, accuracy=accuracy, wanted=wanted, size=size)
    coarse = solve(levels.fineness[0])
    coarse.model.let_go()
    fine = solve(levels.fineness[1])
    pair = [_numbers(coarse), _numbers(fine)]
    limit = _limit(fine, tended(pair), accuracy, wanted)
    if limit.reached:
        return limit
    fine.model.let_go()
    # Less than all directions tell no more than the pair does.
    if size is not None and any(size(finer) > MOST_APART for finer in directions(levels).values()):
        return limit
    more: dict[str, MeshNumbers] = {}
    for name, finer in directions(levels).items():
        level = solve(finer)
        level.model.let_go()
        more[name] = _numbers(level)
    return _limit(fine, split(pair, more), accuracy, wanted)


def _apart(
    solve: Callable[[Fineness], Level],
    levels: Levels,
    *,
    accuracy: float,
    wanted: int,
    size: Callable[[Fineness], int],
) -> MeshLimit:
    """Solve on meshes refined in one direction at a time, then in two and three, as ``refine``."""
    meshes = _Stepped(solve, _first_apart(levels, size), wanted)
    meshes.take(COARSE)
    for degree in range(1, MOST_STEPS + 1):
        worth = worth_solving(meshes.numbers, degree, accuracy=accuracy, wanted=wanted)
        sizes = {steps: size(meshes.fineness(steps)) for steps in worth}
        # Of a single step none may be missing; of several steps what is not solved is told.
        if degree == 1 and max(sizes.values()) > MOST_APART:
            break
        worth = {steps: most for steps, most in worth.items() if sizes[steps] <= MOST_APART}
        # What may matter most for the least work comes first: often not all need be solved.
        for steps in sorted(worth, key=lambda s: sizes[s] / worth[s]):
            meshes.take(steps)
            if degree > 1 and meshes.limit(accuracy).reached:
                break
        if meshes.limit(accuracy).reached:
            break
    return meshes.limit(accuracy)


def _first_apart(levels: Levels, size: Callable[[Fineness], int]) -> Fineness:
    """Return the mesh from which directions are refined apart, with how much a step crowds."""
    coarse, fine = levels.fineness
    crowd = fine.deep - coarse.deep
    graded = replace(levels.graded or coarse, crowd=crowd)
    while max(graded.sharp) and max(size(replace(graded, steps=s)) for s in SINGLE) > _MOST_OF_FIRST_STEPS:
        along, sideways, upward = (max(0, times - 1) for times in graded.sharp)
        graded = replace(graded, sharp=(along, sideways, upward))
    return graded


class _Stepped:
    """Meshes by their steps: what each told, and the one nearest to the limit, which is kept."""

    def __init__(self, solve: Callable[[Fineness], Level], first: Fineness, wanted: int) -> None:
        self._solve, self._wanted, self._coarse = solve, wanted, first
        self.numbers: dict[Steps, MeshNumbers] = {}
        self._kept: tuple[Steps, Level] | None = None

    def fineness(self, steps: Steps) -> Fineness:
        """Return how fine the mesh of so many steps is."""
        return replace(self._coarse, steps=steps)

    def take(self, steps: Steps) -> None:
        """Solve a mesh; keep it where its frequencies lie lowest, so nearest to the limit (min-max)."""
        level = self._solve(self.fineness(steps))
        level.model.let_go()
        self.numbers[steps] = _numbers(level)
        if self._kept is None or self._pitch(steps) < self._pitch(self._kept[0]):
            self._kept = steps, level

    def _pitch(self, steps: Steps) -> float:
        """Return the product of the wanted frequencies, as a logarithm."""
        return float(np.log(np.sort(self.numbers[steps].frequency_hz)[: self._wanted]).sum())

    def limit(self, accuracy: float) -> MeshLimit:
        """Return what the meshes so far tend to."""
        assert self._kept is not None
        steps, level = self._kept
        one_alone = len(self.numbers) == 1
        found = _by_itself(self.numbers[steps]) if one_alone else combined(self.numbers, steps)
        return _limit(level, found, accuracy, self._wanted)


def directions(levels: Levels) -> dict[str, Fineness]:
    """Return the second mesh refined in one direction each: at singular lines, along, across."""
    fine = levels.fineness[1]
    rim = {} if levels.soft else {"singular": replace(fine, deep=fine.deep + 2)}
    return rim | {"along": replace(fine, along=1), "across": replace(fine, across=1)}


def _numbers(level: Level) -> MeshNumbers:
    """Return what a level told; modes of unlike symmetric parts are never taken for each other."""
    labels = [f"{kind} {part}" for kind, part in zip(level.kinds, level.modes.part, strict=True)]
    return MeshNumbers(level.modes.frequency_hz, labels, level.compliance)


def _limit(finest: Level, found: Tended, accuracy: float, wanted: int) -> MeshLimit:
    """Return what was found, and whether it is as good as was asked for."""
    worst = max(found.error[:wanted].max(), np.diag(found.compliance_error).max())
    return MeshLimit(
        finest=finest,
        frequency_hz=found.frequency_hz,
        error=found.error,
        compliance=found.compliance,
        compliance_error=found.compliance_error,
        reached=bool(worst <= accuracy),
    )


def _by_itself(only: MeshNumbers) -> Tended:
    """Return what one mesh tells, of which nothing better is known than what such a mesh may miss."""
    error = np.full(len(only.frequency_hz), _ALONE)
    return Tended(only.frequency_hz, error, only.compliance, np.full((3, 3), 2 * _ALONE))
