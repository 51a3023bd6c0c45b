"""A far finer solution of a set-up: what told errors are compared with.

On a family of meshes of its own; of a body of revolution in spaces two steps beyond those told from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.revolved.bar import Fine
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE
from stickout.fem.study.accuracy import Level
from stickout.fem.study.mesh_levels import Levels, directions
from stickout.fem.study.of_revolution import SPACES, revolved_bar, solved_as_revolved
from stickout.fem.study.study import levels_of, solve_level, unknowns_of
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Numbers:
    """Frequencies [Hz], rising, and compliance [m/N], with their relative errors."""

    frequency_hz: FloatArray
    frequency_error: FloatArray
    compliance: FloatArray
    compliance_error: FloatArray


def of_level(level: Level) -> tuple[FloatArray, FloatArray]:
    """Return the frequencies and the compliance of one mesh, and let go of its factor."""
    level.model.let_go()
    return np.sort(level.modes.frequency_hz), level.compliance


def finer(setup: Setup, most: int) -> Numbers:
    """Return the limit of another family of meshes, with its own doubt."""
    if solved_as_revolved(setup):
        return finer_in_spaces(setup)
    levels = levels_of(setup)
    base = levels.fineness[0]
    other = replace(base, longest=0.8 * base.longest, first=0.8 * base.first, skin=0.8 * base.skin, ratio=2.2)
    nested = [replace(other, cuts=n, deep=n) for n in range(3)]
    if unknowns_of(setup, nested[2]) > most:
        return _apart(setup, Levels(nested[:2], levels.soft))
    (f0, c0), (f1, c1), (f2, c2) = (of_level(solve_level(setup, f)) for f in nested)
    frequency, doubt = _beyond(f0, f1, f2)
    compliance, open_part = _beyond(c0, c1, c2)
    return _numbers(frequency, doubt, compliance, open_part)


def finer_in_spaces(setup: Setup, spaces: Sequence[Fine] = SPACES[-3:]) -> Numbers:
    """Return the last of three spaces' solution of a body of revolution, and what is doubtful of it."""
    bar, wanted = revolved_bar(setup), setup.solve.modes + SPARE
    solved = [solve(bar, fine, wanted=wanted) for fine in spaces]
    frequency = [one.frequency_hz for one in solved]
    compliance = [one.compliance for one in solved]
    doubt, open_part = _of_spaces(*frequency), _of_spaces(*compliance)
    return _numbers(frequency[-1], doubt, compliance[-1], open_part)


def _of_spaces(first: FloatArray, second: FloatArray, third: FloatArray) -> FloatArray:
    """Return what is doubtful of the last of three spaces: a part of its step, all where it is rounding.

    Steps fall to a tenth from one space to the next. One that does not is no step but the digits that
    slender bars lose.
    """
    before, after = np.abs(second - first), np.abs(third - second)
    return np.where(after < 0.3 * before, 0.2 * after, np.maximum(before, after))


def _beyond(first: FloatArray, second: FloatArray, third: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the limit of three meshes, by the ratio of their steps, and what is doubtful of it."""
    before, after = second - first, third - second
    ratio = np.clip(after / np.where(before == 0, 1.0, before), 0.05, 0.35)
    part = ratio / (1 - ratio)
    return third + part * after, 0.5 * part * np.abs(after)


def _apart(setup: Setup, levels: Levels) -> Numbers:
    """Return the limit by refining each direction by itself."""
    frequency, compliance = of_level(solve_level(setup, levels.fineness[1]))
    beyond, softer = np.zeros_like(frequency), np.zeros((3, 3))
    doubt, open_part = beyond.copy(), softer.copy()
    for more in directions(levels).values():
        f, c = of_level(solve_level(setup, more))
        beyond += 1.15 * (f - frequency)
        softer += 1.15 * (c - compliance)
        doubt += 0.1 * np.abs(f - frequency)
        open_part += 0.1 * np.abs(c - compliance)
    return _numbers(frequency + beyond, doubt, compliance + softer, open_part)


def _numbers(
    frequency: FloatArray, doubt: FloatArray, compliance: FloatArray, open_part: FloatArray
) -> Numbers:
    size = np.sqrt(np.diag(compliance))
    return Numbers(frequency, doubt / frequency, compliance, np.abs(open_part) / np.outer(size, size))
