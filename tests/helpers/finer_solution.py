"""A far finer solution of a set-up: what told errors are compared with.

Of a body of revolution it is in spaces of polynomials beyond those told from. Otherwise it is of our own
elements on another family of meshes, graded otherwise and refined by up to three steps in every direction
and pair of directions; each of these is carried on by the ratio that its own last two steps show, and three
tenths of what that adds is doubtful.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import product

import numpy as np

from stickout.fem.revolved.bar import Fine
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE
from stickout.fem.study.apart import COARSE, Steps, worth_solving
from stickout.fem.study.mesh_levels import first_apart
from stickout.fem.study.meshes_limit import MeshNumbers, matched
from stickout.fem.study.of_revolution import SPACES, revolved_bar, solved_as_revolved
from stickout.fem.study.study import levels_of, solve_level, unknowns_of
from stickout.meshes.tagged import FloatArray

# Meshes that may add less than a thirtieth of a tenth of the accuracy asked for are left out, within limits.
_IDLE = (5e-5, 5e-4)
# What directions do together that no mesh showed, in parts of what each of them told first: as far as
# NGSolve was seen to lie from the sum.
_TOGETHER = 0.02


@dataclass(frozen=True)
class Numbers:
    """Frequencies [Hz], rising, and compliance [m/N], with their relative errors."""

    frequency_hz: FloatArray
    frequency_error: FloatArray
    compliance: FloatArray
    compliance_error: FloatArray


def finer(setup: Setup) -> Numbers:
    """Return the limit of another family of meshes, with its own doubt."""
    if solved_as_revolved(setup):
        return finer_in_spaces(setup)
    # As fine at the rims of what is held still as the accuracy asks for.
    base = first_apart(levels_of(setup), partial(unknowns_of, setup))
    other = replace(base, longest=0.8 * base.longest, first=0.8 * base.first, skin=0.8 * base.skin, ratio=2.2)
    idle, solved = float(np.clip(setup.solve.accuracy / 10, *_IDLE)), dict[Steps, MeshNumbers]()
    for degree in range(4):
        worth = {COARSE: 0.0}
        if degree:
            worth = worth_solving(solved, degree, accuracy=idle, wanted=setup.solve.modes)
        for steps in worth:
            level = solve_level(setup, replace(other, steps=steps))
            level.model.let_go()
            modes = level.modes
            labels = [f"{kind} {part}" for kind, part in zip(level.kinds, modes.part, strict=True)]
            solved[steps] = MeshNumbers(modes.frequency_hz, labels, level.compliance)
    return _limit(solved)


def _limit(solved: Mapping[Steps, MeshNumbers]) -> Numbers:
    """Return what meshes refined by steps tend to, each direction and pair by the ratio it shows."""
    own = solved[max(solved, key=lambda s: (sum(s), s))]
    order, n = np.argsort(own.frequency_hz), len(own.frequency_hz)
    figures = {
        steps: np.concatenate([matched(one, own)[order], one.compliance.ravel()])
        for steps, one in solved.items()
    }
    surplus = {steps: _surplus(figures, steps) for steps in figures}
    limit = np.sum(list(surplus.values()), axis=0)
    first = [np.abs(one) for steps, one in surplus.items() if sum(steps) == 1]
    doubt = 0.5 * np.abs(surplus.get((1, 1, 1), np.zeros_like(limit))) + _TOGETHER * np.sum(first, axis=0)
    for some in ((0,), (1,), (2,), (0, 1), (0, 2), (1, 2)):
        # What moves in these directions alone, by steps in all.
        mine = [s for s in surplus if {i for i in range(3) if s[i]} == set(some)]
        total = [np.sum([surplus[s] for s in mine if sum(s) == k], axis=0) for k in sorted({*map(sum, mine)})]
        if len(total) > 1:
            ratio = total[-1] / np.where(total[-2] == 0, 1.0, total[-2])
            onward = total[-1] * np.clip(ratio, 0.05, 0.6) / (1 - np.clip(ratio, 0.05, 0.6))
            limit, doubt = limit + onward, doubt + 0.3 * np.abs(onward)
        elif total:
            limit, doubt = limit + 0.15 * total[0], doubt + 0.15 * np.abs(total[0])
    return _numbers(limit[:n], doubt[:n], limit[n:].reshape(3, 3), doubt[n:].reshape(3, 3))


def _surplus(figures: Mapping[Steps, FloatArray], steps: Steps) -> FloatArray:
    """Return what a mesh tells beyond all coarser ones."""
    backs = product(*[(0, 1) if s else (0,) for s in steps])
    signed = [(-1.0) ** sum(b) * figures[steps[0] - b[0], steps[1] - b[1], steps[2] - b[2]] for b in backs]
    return np.asarray(np.sum(signed, axis=0))


def finer_in_spaces(setup: Setup, spaces: Sequence[Fine] = SPACES[1:4]) -> Numbers:
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


def _numbers(
    frequency: FloatArray, doubt: FloatArray, compliance: FloatArray, open_part: FloatArray
) -> Numbers:
    size, order = np.sqrt(np.diag(compliance)), np.argsort(frequency)
    part = (doubt / frequency)[order]
    return Numbers(frequency[order], part, compliance, np.abs(open_part) / np.outer(size, size))
