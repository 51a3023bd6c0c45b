"""The quick figure of the live page: the first mesh alone, and the likely limit of the cut on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.fem.cut.likely import likely_limit
from stickout.fem.cut.models import tool_modes
from stickout.fem.cut.turned import TurnedBar, turned_bar
from stickout.fem.force.case import cut_case
from stickout.fem.setup.checks import check_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study.accuracy import MeshLimit
from stickout.fem.study.clamped_loss import clamped_loss
from stickout.fem.study.result import Result
from stickout.fem.study.study import levels_of, result_of, solve_level

# What the first mesh misses at most: 0.04 to 1.05 % in 17 examples, two screws the worst (computed here).
FIRST_MESH_ERROR = 0.01


@dataclass(frozen=True)
class QuickCut:
    """The likely limit of a cut.

    Attributes
    ----------
    margin
        Likely margin [-].
    depth
        Likely depth limit [m]: inf where no depth limits.
    chatter_hz
        Note of the chatter at the limit [Hz].
    turned
        Margin against rotation of the bar.
    """

    margin: float
    depth: float
    chatter_hz: float
    turned: TurnedBar


def quick_study(setup: Setup) -> Result:
    """Return what the first mesh tells about a set-up; its frequencies are good to about one per cent.

    Parameters
    ----------
    setup
        The set-up; it is checked first.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        The set-up cannot be used.
    SolveError
        The computation failed.
    """
    check_setup(setup)
    level = solve_level(setup, levels_of(setup).fineness[0])
    frequency = level.modes.frequency_hz
    error = np.full(len(frequency), FIRST_MESH_ERROR)
    soft = np.full((3, 3), 2 * FIRST_MESH_ERROR)
    return result_of(setup, MeshLimit(level, frequency, error, level.compliance, soft, reached=True))


def quick_cut(result: Result) -> QuickCut:
    """Return the likely limit of a result's cut, without bands and levers.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.
    """
    setup = result.setup
    case, loss = cut_case(setup), clamped_loss(result)
    found = likely_limit(setup, case, loss=loss, tool=tool_modes(result, loss))
    turned = turned_bar(case, found.tool, work=found.work, rotation_deg=setup.bar.rotation_deg)
    return QuickCut(found.margin, found.depth, float(found.limit.chatter_hz), turned)
