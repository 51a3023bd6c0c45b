"""Where the spread of a margin comes from: tool, force of the material, its thrust, rubbing of the flank."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Final

import numpy as np

from stickout.fem.bench.margins import Unheard
from stickout.fem.bench.poles import FloatArray

TOOL, FORCE, THRUST, RUBBING = "tool", "force", "thrust", "rubbing"
NAMES: Final = (TOOL, FORCE, THRUST, RUBBING)


def spread_shares(margins: FloatArray, k_zeta: FloatArray, *, unheard: Unheard) -> dict[str, float]:
    """Return which share of the spread of a margin each unknown holds.

    Parameters
    ----------
    margins
        Margin of every sample, shape (n,).
    k_zeta
        Stiffness times damping of the tool along the force in every sample, shape (n,).
    unheard
        As many draws of what a tap cannot tell.

    Returns
    -------
    dict
        Name -> share of the variance of the margin's logarithm; they add up to one.

    Source
    ------
    Shapley's mean over all orders of what a linear fit explains (computed here); unknowns that a measurement
    tied to each other are told apart as well as they can be.
    """
    columns = {TOOL: k_zeta, FORCE: unheard.force, THRUST: unheard.thrust, RUBBING: unheard.rub}
    told = shapley({name: np.log(one) for name, one in columns.items()}, np.log(margins))
    total = sum(told.values())
    return {name: one / total for name, one in told.items()} if total > 0.0 else told


def shapley(columns: Mapping[str, FloatArray], target: FloatArray) -> dict[str, float]:
    """Return the share of the variance of a target that each column explains, mean over all orders.

    Parameters
    ----------
    columns
        Name -> values, shape (n,).
    target
        What is explained, shape (n,).

    Source
    ------
    Shapley 1953; Lindeman, Merenda & Gold 1980 (recalled, not opened).
    """
    names = list(columns)
    told = {
        one: _explained([columns[name] for name in one], target)
        for size in range(len(names) + 1)
        for one in combinations(names, size)
    }
    out = dict.fromkeys(names, 0.0)
    for one, explained in told.items():
        for name in (name for name in names if name not in one):
            bigger = tuple(other for other in names if other in (*one, name))
            out[name] += (told[bigger] - explained) / (len(names) * math.comb(len(names) - 1, len(one)))
    return out


def _explained(columns: Sequence[FloatArray], target: FloatArray) -> float:
    """Return which share of the variance a linear fit explains."""
    if not columns or float(target.var()) == 0.0:
        return 0.0
    basis = np.stack([*columns, np.ones(len(target))], axis=1)
    left = target - basis @ np.linalg.lstsq(basis, target, rcond=None)[0]
    return 1.0 - float(left.var() / target.var())
