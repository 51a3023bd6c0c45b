"""How fine the mesh must be: solve on finer and finer ones, take the limit, tell what is left.

The frequencies of successive meshes fall towards the exact ones by a steady ratio. The last step times
what that ratio leaves is the correction; it is applied, and it is also the error that is reported.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Levels:
    """Meshes of rising fineness, and how their errors fall.

    Attributes
    ----------
    fineness
        From coarse to fine.
    ratio
        Error left on a mesh over that of the one before, taken when only two are known.
    doubt
        Part of the correction that is reported as error then: what the correction misses by while the
        true ratio lies in the range that was seen.
    """

    fineness: Sequence[Fineness]
    ratio: float
    doubt: float


# Each level halves the cells of the section and the least length. Even numbers of cells, so that a bar
# that is its own mirror image has a mesh that is. Sizes and ratios by scanning the converged set (computed
# here, see DEVELOPERS.md): ratios 0.3 to 0.4 (the singular line round a held face gives 2^-1.42 = 0.37),
# 0.1 on smooth parts, 0.5 for axial modes, so the assumed 0.35 misses by at most 1.2 of the correction.
ROUND = Levels(
    (
        Fineness(2, 1, 0.11, 0.5, 0.05),
        Fineness(4, 1, 0.055, 0.3, 0.025),
        Fineness(8, 2, 0.028, 0.18, 0.0125),
        Fineness(12, 3, 0.014, 0.11, 0.006),
    ),
    ratio=0.35,
    doubt=1.2,
)
FLAT = Levels(
    (
        Fineness(2, 1, 0.2, 0.5, 0.05),
        Fineness(4, 1, 0.1, 0.3, 0.025),
        Fineness(8, 1, 0.05, 0.18, 0.0125),
        Fineness(12, 1, 0.025, 0.11, 0.006),
    ),
    ratio=0.35,
    doubt=1.2,
)
# Joints soften the stress at the holder face, and a modelled holder makes every layer dear: fewer layers do.
ROUND_IN_JOINTS = replace(
    ROUND,
    fineness=(Fineness(2, 1, 0.11, 0.7, 0.1), Fineness(4, 1, 0.055, 0.42, 0.05), *ROUND.fineness[2:]),
)
FLAT_IN_JOINTS = replace(
    FLAT,
    fineness=(Fineness(2, 1, 0.2, 0.7, 0.1), Fineness(4, 1, 0.1, 0.42, 0.05), *FLAT.fineness[2:]),
)
# Where a grip holds part of a side as if it were one with it, the error falls only with the length itself:
# ratios 0.41 to 0.51, and finer cells along that line from the start.
PRESSED = Levels(
    (
        Fineness(2, 1, 0.1, 0.5, 0.03, 3.0),
        Fineness(4, 1, 0.05, 0.4, 0.015, 3.0),
        Fineness(6, 1, 0.025, 0.3, 0.0075, 3.0),
        Fineness(8, 1, 0.0125, 0.2, 0.00375, 3.0),
    ),
    ratio=0.45,
    doubt=0.55,
)

# With three meshes the ratio is seen; a correction by it misses by less.
_RATIO_RANGE = (0.1, 0.6)
_DOUBT_SEEN = 0.75
_LEAST_ERROR = 1e-6
# The next level is not tried when it would have more unknowns than this for each symmetric part, where many
# like set-ups share factors that are all kept.
MOST_UNKNOWNS = 60_000
# The same for one set-up by itself, which is solved by iteration where factors would be too large: half a
# minute and two gigabytes at most, whatever its symmetry (see DEVELOPERS.md).
MOST_ALONE = 240_000
# A first mesh above this is made coarser: a bar of very unlike sizes is scaled by its thinnest piece.
MOST_AT_FIRST = 36_000


@dataclass(frozen=True)
class Level:
    """One mesh solved: model, modes, static compliance at the edge [m/N], (3, 3), symmetric parts solved."""

    model: Model
    modes: Modes
    kinds: Sequence[str]
    compliance: FloatArray
    parts: int


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


def coarser(levels: Levels) -> Levels:
    """Return levels with cells half as long again, for bars whose finest detail would make them too large."""
    return replace(
        levels,
        fineness=[
            replace(
                f,
                skin=1.5 * f.skin,
                longest=1.5 * f.longest,
                first=1.5 * f.first,
                around=max(2, f.around - 2),
            )
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
) -> Limit:
    """Solve on finer meshes until the error of every wanted frequency is inside the accuracy.

    Parameters
    ----------
    solve
        Meshes and solves at a fineness.
    levels
        Which meshes; two are always used.
    accuracy
        Wanted relative error of the frequencies [-].
    wanted
        How many of the lowest modes must reach it.
    size
        Tells the unknowns of a mesh before it is solved; a mesh too large is not tried. None: all are.

    Returns
    -------
    Limit
        Frequencies and compliance in the limit, with the error of each frequency.

    Source
    ------
    Richardson's extrapolation with the ratio seen on three meshes (recalled, not opened).
    """
    solved = [solve(fineness) for fineness in levels.fineness[:2]]
    limit = _limit(solved, levels, wanted=wanted, accuracy=accuracy)
    for fineness in levels.fineness[2:]:
        if limit.reached or (size is not None and size(fineness) > MOST_ALONE):
            break
        for level in solved:
            level.model.let_go()
        solved = [*solved[-2:], solve(fineness)]
        limit = _limit(solved, levels, wanted=wanted, accuracy=accuracy)
    return limit


def _limit(solved: Sequence[Level], levels: Levels, *, wanted: int, accuracy: float) -> Limit:
    """Return the limit of two or three meshes."""
    told = [MeshNumbers(s.modes.frequency_hz, s.kinds, s.compliance) for s in solved]
    found = tended(told, levels)
    return Limit(
        finest=solved[-1],
        frequency_hz=found.frequency_hz,
        error=found.error,
        compliance=found.compliance,
        reached=bool(np.all(found.error[:wanted] <= accuracy)),
    )


@dataclass(frozen=True)
class MeshNumbers:
    """What one mesh told: frequencies [Hz], their kinds, compliance at the edge [m/N], (3, 3)."""

    frequency_hz: FloatArray
    kinds: Sequence[str]
    compliance: FloatArray


@dataclass(frozen=True)
class Tended:
    """Frequencies [Hz], their relative errors, and compliance [m/N] in the limit of fine meshes."""

    frequency_hz: FloatArray
    error: FloatArray
    compliance: FloatArray


def tended(solved: Sequence[MeshNumbers], levels: Levels) -> Tended:
    """Return what two or three meshes tend to.

    Parameters
    ----------
    solved
        What the meshes told, from coarse to fine, as many modes each.
    levels
        How their errors fall.

    Source
    ------
    Richardson's extrapolation with the ratio seen on three meshes (recalled, not opened).
    """
    finest = solved[-1]
    runs = np.array([_matched(level, finest) for level in solved])
    last = runs[-1] - runs[-2]
    ratio = np.full(len(last), levels.ratio)
    compliance_ratio, doubt = levels.ratio, levels.doubt
    if len(solved) == 3:
        doubt = _DOUBT_SEEN
        before = runs[-2] - runs[-3]
        seen = np.divide(last, before, out=ratio.copy(), where=before < 0)
        ratio = np.clip(seen, *_RATIO_RANGE)
        traces = [float(np.trace(s.compliance)) for s in solved]
        compliance_ratio = float(np.clip((traces[2] - traces[1]) / (traces[1] - traces[0]), *_RATIO_RANGE))
    correction = last * ratio / (1 - ratio)
    frequency = runs[-1] + correction
    left = np.abs(correction) * doubt
    scale = np.where(frequency > 0, frequency, 1.0)
    error = np.maximum(left / scale, _LEAST_ERROR)
    step = finest.compliance - solved[-2].compliance
    return Tended(
        frequency_hz=frequency,
        error=error,
        compliance=finest.compliance + step * compliance_ratio / (1 - compliance_ratio),
    )


def _matched(level: MeshNumbers, finest: MeshNumbers) -> FloatArray:
    """Return a level's frequencies in the order of the finest: the n-th of a kind with the n-th."""
    if list(level.kinds) == list(finest.kinds):
        return level.frequency_hz
    out = level.frequency_hz.copy()
    for kind in set(finest.kinds):
        here = [i for i, k in enumerate(level.kinds) if k == kind]
        there = [i for i, k in enumerate(finest.kinds) if k == kind]
        for i, j in zip(here, there, strict=False):
            out[j] = level.frequency_hz[i]
    return out
