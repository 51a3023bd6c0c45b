"""Which meshes a bar is solved on: two nested ones, and those refined in one direction each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.study.apart import OF_SINGLE, OF_SPRUNG_GRID, SINGLE
from stickout.fem.study.meshes_limit import Rule
from stickout.meshes.pieces import Fineness


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
    single
        What may be still to come where directions are refined apart by one step each.
    """

    fineness: Sequence[Fineness]
    soft: bool = False
    graded: Fineness | None = None
    single: Rule = OF_SINGLE


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
FLAT_SOFT: Final = replace(nested(Fineness(2, 1, 0.2, 0.7, 0.2), soft=True), single=OF_SPRUNG_GRID)
# Where a grip holds part of a side as if it were one with it, every layer counts less than its rim.
PRESSED: Final = nested(Fineness(2, 1, 0.18, 1.2, 0.18))
# The same for directions apart: halved so often at the rim that single steps tell about the accuracy. What
# they told fell by half with each cut, and by how slender the bar is (computed here).
_AT_RIM: Final = 0.026
_MOST_CUTS_AT_RIM: Final = 5
# The largest of the meshes of one step from a graded one, where that is to be coarsened at its lines.
_MOST_OF_FIRST_STEPS: Final = 60_000
# A second mesh above this is avoided by a coarser pair, as long as that helps.
MOST_AT_FIRST: Final = 120_000
_COARSER_TIMES: Final = 6


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


def first_apart(levels: Levels, size: Callable[[Fineness], int]) -> Fineness:
    """Return the mesh from which directions are refined apart, with how much a step crowds.

    Parameters
    ----------
    levels
        The meshes that suit the bar.
    size
        Tells the unknowns of a mesh.
    """
    coarse, fine = levels.fineness
    crowd = fine.deep - coarse.deep
    graded = replace(levels.graded or coarse, crowd=crowd)
    while max(graded.sharp) and max(size(replace(graded, steps=s)) for s in SINGLE) > _MOST_OF_FIRST_STEPS:
        along, sideways, upward = (max(0, times - 1) for times in graded.sharp)
        graded = replace(graded, sharp=(along, sideways, upward))
    return graded


def directions(levels: Levels) -> dict[str, Fineness]:
    """Return the second mesh refined in one direction each: at singular lines, along, across.

    Parameters
    ----------
    levels
        The meshes that suit the bar.
    """
    fine = levels.fineness[1]
    rim = {} if levels.soft else {"singular": replace(fine, deep=fine.deep + 2)}
    return rim | {"along": replace(fine, along=1), "across": replace(fine, across=1)}
