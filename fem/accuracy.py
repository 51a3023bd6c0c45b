"""How fine the mesh must be: solve on finer and finer ones, take the limit, tell what is left.

The frequencies of successive meshes fall towards the exact ones by a steady ratio. The last step times
what that ratio leaves is the correction; it is applied, and it is also the error that is reported.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fem.model import Model
from fem.modes import Modes
from meshes.pieces import Fineness
from meshes.tagged import FloatArray

# Each level halves the cells of the section and the least length. Even numbers of cells, so that a bar
# that is its own mirror image has a mesh that is. Chosen by scanning (computed here, see DEVELOPERS.md).
ROUND_LEVELS = (
    Fineness(2, 1, 0.11, 0.5, 0.05),
    Fineness(4, 1, 0.055, 0.3, 0.025),
    Fineness(8, 2, 0.028, 0.18, 0.0125),
    Fineness(12, 3, 0.014, 0.11, 0.006),
)
FLAT_LEVELS = (
    Fineness(2, 1, 0.2, 0.5, 0.05),
    Fineness(4, 1, 0.1, 0.3, 0.025),
    Fineness(8, 1, 0.05, 0.18, 0.0125),
    Fineness(12, 1, 0.025, 0.11, 0.006),
)
# Where a grip holds part of a side as if it were one with it, the stress along that line is more singular
# (the error falls with the length itself): start finer there, halve it each time.
PRESSED_LEVELS = (
    Fineness(2, 1, 0.08, 0.5, 0.02, 4.0),
    Fineness(3, 1, 0.04, 0.45, 0.01, 4.0),
    Fineness(4, 1, 0.02, 0.4, 0.005, 4.0),
    Fineness(5, 1, 0.01, 0.3, 0.0025, 4.0),
)

# Error left on a mesh over that of the one before, when only two are known: 0.3 to 0.4 was seen on rigid
# and pressed bars alike (the singular line round a held face gives 2^-1.42 = 0.37), 0.1 on smooth parts.
_RATIO = 0.35
_RATIO_RANGE = (0.1, 0.6)
# Part of the correction that is reported as error. The assumed ratio misses by at most 0.8 of the correction
# while the true one lies between 0.1 and 0.5; a seen one by less.
_DOUBT = {2: 0.8, 3: 0.5}
_LEAST_ERROR = 1e-6
# The next level is not tried when it would have more unknowns than this.
MOST_UNKNOWNS = 200_000


@dataclass(frozen=True)
class Level:
    """One mesh solved: its model, modes and static compliance at the edge [m/N], (3, 3)."""

    model: Model
    modes: Modes
    kinds: Sequence[str]
    compliance: FloatArray


@dataclass(frozen=True)
class Limit:
    """What the meshes tend to.

    Attributes
    ----------
    finest
        The finest mesh solved.
    frequency_hz
        Frequencies in the limit [Hz], shape (n_modes,).
    error
        Relative error of each, shape (n_modes,).
    compliance
        Static compliance in the limit [m/N], shape (3, 3).
    reached
        False when the wanted accuracy was not reached on the finest mesh allowed.
    """

    finest: Level
    frequency_hz: FloatArray
    error: FloatArray
    compliance: FloatArray
    reached: bool


def refine(
    solve: Callable[[Fineness], Level], levels: Sequence[Fineness], *, accuracy: float, wanted: int
) -> Limit:
    """Solve on finer meshes until the error of every wanted frequency is inside the accuracy.

    Parameters
    ----------
    solve
        Meshes and solves at a fineness.
    levels
        Finenesses, rising; two are always used.
    accuracy
        Wanted relative error of the frequencies [-].
    wanted
        How many of the lowest modes must reach it.

    Returns
    -------
    Limit
        Frequencies and compliance in the limit, with the error of each frequency.

    Source
    ------
    Richardson's extrapolation with the ratio seen on three meshes (recalled, not opened).
    """
    solved = [solve(levels[0])]
    for number, fineness in enumerate(levels[1:], start=2):
        solved.append(solve(fineness))
        limit = _limit(solved[-3:], wanted=wanted, accuracy=accuracy)
        sizes = [s.model.layout.n_unknowns for s in solved[-2:]]
        if limit.reached or number == len(levels) or sizes[1] ** 2 / sizes[0] > MOST_UNKNOWNS:
            break
    return limit


def _limit(solved: Sequence[Level], *, wanted: int, accuracy: float) -> Limit:
    """Return the limit of two or three meshes."""
    finest = solved[-1]
    runs = np.array([_matched(level, finest) for level in solved])
    last = runs[-1] - runs[-2]
    ratio = np.full(len(last), _RATIO)
    compliance_ratio = _RATIO
    if len(solved) == 3:
        before = runs[-2] - runs[-3]
        seen = np.divide(last, before, out=ratio.copy(), where=before < 0)
        ratio = np.clip(seen, *_RATIO_RANGE)
        traces = [float(np.trace(s.compliance)) for s in solved]
        compliance_ratio = float(np.clip((traces[2] - traces[1]) / (traces[1] - traces[0]), *_RATIO_RANGE))
    correction = last * ratio / (1 - ratio)
    frequency = runs[-1] + correction
    left = np.abs(correction) * _DOUBT[len(solved)]
    scale = np.where(frequency > 0, frequency, 1.0)
    error = np.maximum(left / scale, _LEAST_ERROR)
    step = finest.compliance - solved[-2].compliance
    return Limit(
        finest=finest,
        frequency_hz=frequency,
        error=error,
        compliance=finest.compliance + step * compliance_ratio / (1 - compliance_ratio),
        reached=bool(np.all(error[:wanted] <= accuracy)),
    )


def _matched(level: Level, finest: Level) -> FloatArray:
    """Return a level's frequencies in the order of the finest: the n-th of a kind with the n-th."""
    if list(level.kinds) == list(finest.kinds):
        return level.modes.frequency_hz
    out = level.modes.frequency_hz.copy()
    for kind in set(finest.kinds):
        here = [i for i, k in enumerate(level.kinds) if k == kind]
        there = [i for i, k in enumerate(finest.kinds) if k == kind]
        for i, j in zip(here, there, strict=False):
            out[j] = level.modes.frequency_hz[i]
    return out
