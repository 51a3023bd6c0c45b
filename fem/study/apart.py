"""A mesh refined in one direction at a time, and what the differences add up to.

Every direction of a mesh (along the bar, sideways or round, upward or outward) may be refined by whole
steps. What a mesh tells beyond all coarser ones is its surplus. Surpluses of meshes refined in two directions
are far smaller than those of one, of three smaller still: so a few cheap meshes of one step or two stand for
the single dear mesh that has every step.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import Final

import numpy as np

from stickout.fem.study.meshes_limit import MeshNumbers, Rule, Tended, matched, with_floor
from stickout.meshes.tagged import FloatArray

Steps = tuple[int, int, int]
COARSE: Final[Steps] = (0, 0, 0)
SINGLE: Final[tuple[Steps, ...]] = ((1, 0, 0), (0, 1, 0), (0, 0, 1))
# As many steps in all are the most that is tried.
MOST_STEPS: Final = 3
# One mesh alone, where finer ones are too large: its frequencies were never off by more than 1.1 %.
_ALONE: Final = 0.05
# Beside the worst figure's error none is told smaller than this part of it: steps that small follow no rule.
_SHARED: Final = 0.05
# What is still to come after meshes of one step, in parts of what they told, was -0.2 to 0.2: what two
# directions do together takes away about as much as single ones still add (computed here, see DEVELOPERS.md).
OF_SINGLE: Final = Rule(0.05, 0.24, _SHARED)
# Directions of a grid on springs hardly mind each other: what falls smoothly has 1/15 still to come, what
# lies at the end of a pressure 1/3; together it was 0.04 to 0.26 (computed here).
OF_SPRUNG_GRID: Final = Rule(0.10, 0.18, _SHARED)
# The same after meshes of two and three steps in all: what was seen, and a little more.
_ONWARD: Final = {2: 0.10, 3: 0.25}
_TOLD: Final = {2: 0.45, 3: 0.40}
# The same of two directions together after two steps, which may go either way.
_TOGETHER: Final = 0.20
# A direction that was not refined a third time: half of what the second told is the most it still may.
_LEFT_ALONE: Final = 0.25
# A surplus is less than this part of the least of those that it follows: in one direction and in several,
# after one step and after two.
_FOLLOWS_SINGLE: Final = 0.5
_FOLLOWS: Final = {2: 0.5, 3: 1.0}
# Where that is below this part of the accuracy it is told, not solved.
_IDLE: Final = 0.03


def worth_solving(
    solved: Mapping[Steps, MeshNumbers], degree: int, *, accuracy: float, wanted: int
) -> dict[Steps, float]:
    """Return the meshes of so many steps in all whose surplus may matter, and how much of it there may be.

    Parameters
    ----------
    solved
        Meshes so far.
    degree
        Steps in all.
    accuracy
        Wanted relative error [-].
    wanted
        How many of the lowest modes must reach it.
    """
    if degree == 1:
        return dict.fromkeys(SINGLE, np.inf)
    figures = _figures(solved, COARSE)
    n = len(solved[COARSE].frequency_hz)
    counted = np.r_[:wanted, n : n + 9 : 4]
    expected = {s: float(_expected(figures, s)[counted].max()) for s in _next(solved, degree)}
    return {steps: most for steps, most in expected.items() if most > _IDLE * accuracy}


def combined(solved: Mapping[Steps, MeshNumbers], finest: Steps, *, single: Rule = OF_SINGLE) -> Tended:
    """Return what meshes tend to that were refined in one direction at a time.

    Parameters
    ----------
    solved
        What each mesh told, by its steps; every mesh below one of them is there.
    finest
        The mesh whose order of modes is kept.
    single
        What may be still to come where no mesh has more than one step.

    Source
    ------
    Sparse grids by combination, adaptive by direction: Griebel, Schneider & Zenger 1992; Gerstner & Griebel,
    Computing 71 (2003) 65 (both recalled, not opened). Parts still to come: computed here.
    """
    if len(solved) == 1:
        return _by_itself(solved[finest])
    figures = _figures(solved, finest)
    degree = max(map(sum, solved))
    last = {steps: _surplus(figures, steps) for steps in solved if sum(steps) == degree}
    limit = np.sum([_surplus(figures, steps) for steps in solved], axis=0)
    told = np.zeros_like(limit)
    onward, most = {1: single.middle, **_ONWARD}, {1: single.told, **_TOLD}
    for steps, surplus in last.items():
        together = degree == 2 and max(steps) < degree
        told += (_TOGETHER if together else most[degree]) * np.abs(surplus)
        limit += 0.0 if together else onward[degree] * surplus
    for steps in (s for n in range(2, degree + 1) for s in _next(solved, n) if s not in solved):
        if max(steps) == 3:
            surplus = _surplus(figures, min(_below(steps), key=sum))
            limit, told = limit + _LEFT_ALONE * surplus, told + _LEFT_ALONE * np.abs(surplus)
        else:
            told += _expected(figures, steps)
    return _tended(solved[finest], limit, told)


def _by_itself(only: MeshNumbers) -> Tended:
    """Return what one mesh tells, of which nothing better is known than what such a mesh may miss."""
    error = np.full(len(only.frequency_hz), _ALONE)
    return Tended(only.frequency_hz, error, only.compliance, np.full((3, 3), 2 * _ALONE))


def _tended(own: MeshNumbers, limit: FloatArray, told: FloatArray) -> Tended:
    """Return figures that are relative to those of a mesh as frequencies and compliance."""
    n = len(own.frequency_hz)
    side = np.sqrt(np.diag(own.compliance))
    # Steps of a compliance are positive semidefinite or nearly so: an entry is bounded by its diagonal ones.
    root = np.sqrt(np.diag(told[n:].reshape(3, 3)))
    worst = max(told[:n].max(), (root**2).max())
    told = np.maximum(told, _SHARED * worst)
    root = np.maximum(root, np.sqrt(_SHARED * worst))
    return with_floor(
        limit[:n] * own.frequency_hz,
        told[:n] * own.frequency_hz,
        compliance=limit[n:].reshape(3, 3) * np.outer(side, side),
        root=np.outer(root * side, root * side),
    )


def _figures(solved: Mapping[Steps, MeshNumbers], finest: Steps) -> dict[Steps, FloatArray]:
    """Return frequencies and compliance of every mesh over those of one, in its order, flat."""
    own = solved[finest]
    side = np.sqrt(np.diag(own.compliance))
    frequency = np.where(own.frequency_hz > 0, own.frequency_hz, 1.0)
    scale = np.concatenate([frequency, np.outer(side, side).ravel()])
    return {
        steps: np.concatenate([matched(one, own), one.compliance.ravel()]) / scale
        for steps, one in solved.items()
    }


def _next(solved: Mapping[Steps, MeshNumbers], degree: int) -> list[Steps]:
    """Return all meshes of so many steps in all whose coarser ones are there."""
    some = range(degree + 1)
    every = [(a, b, degree - a - b) for a, b in product(some, some) if a + b <= degree]
    return [s for s in every if all(b in solved for b in _below(s)[1:])]


def _below(steps: Steps) -> list[Steps]:
    """Return a mesh, and all that lack one step in some of its directions."""
    a, b, c = steps
    backs = product(*[(0, 1) if s else (0,) for s in steps])
    return [(a - i, b - j, c - k) for i, j, k in backs]


def _surplus(figures: Mapping[Steps, FloatArray], steps: Steps) -> FloatArray:
    """Return what a mesh tells beyond all below it."""
    below = _below(steps)
    total = np.sum([(-1.0) ** (sum(steps) - sum(b)) * figures[b] for b in below], axis=0)
    return np.asarray(total)


def _expected(figures: Mapping[Steps, FloatArray], steps: Steps) -> FloatArray:
    """Return the greatest size of a surplus by those one step below it."""
    degree = sum(steps)
    sizes = [np.abs(_surplus(figures, b)) for b in _below(steps) if sum(b) == degree - 1]
    part = _FOLLOWS_SINGLE if max(steps) == degree else _FOLLOWS[degree]
    return np.asarray(part * np.min(sizes, axis=0))
