"""Where cells begin and end along one direction: drawn together geometrically where stress is singular."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.meshes.tagged import FloatArray

# A cell at a singular point is cut at this part of its length, again and again: the best ratio in theory is
# 0.17 (Gui & Babuska 1986, recalled, not opened).
_SHARE: Final = 0.15


def graded(
    breaks: Sequence[float],
    *,
    first: Mapping[float, float],
    longest: float,
    hot: Collection[float],
    layers: int,
    growth: float = 3.0,
) -> FloatArray:
    """Return the lines between cells, so that those of fewer layers are among those of more.

    Parameters
    ----------
    breaks
        Lines that must be there [m], rising.
    first
        Longest cell that may touch a break [m]; a break not named allows any.
    longest
        Longest cell anywhere [m].
    hot
        The breaks toward which stress is singular.
    layers
        How often a cell that touches one is cut.
    growth
        How much longer a cell may be than the one beside it.
    """
    lines = [breaks[0]]
    for low, high in pairwise(breaks):
        at_most = [min(first.get(one, longest), longest) for one in (low, high)]
        sizes = _sizes(high - low, at_most, longest, growth)
        if len(sizes) == 1 and low in hot and high in hot:
            sizes = [sizes[0] / 2] * 2
        if low in hot:
            sizes = [*_cut(sizes[0], layers), *sizes[1:]]
        if high in hot:
            sizes = [*sizes[:-1], *reversed(_cut(sizes[-1], layers))]
        lines += [*(low + np.cumsum(sizes[:-1])), high]
    return np.array(lines)


def _cut(size: float, layers: int) -> list[float]:
    """Return the sizes of a cell cut toward its start."""
    ends = size * np.array([_SHARE**n for n in range(layers, -1, -1)])
    return [float(one) for one in np.diff(ends, prepend=0.0)]


def _sizes(length: float, at_most: Sequence[float], longest: float, growth: float) -> list[float]:
    """Return sizes of cells that fill a length, growing from both of its ends."""
    rising, falling = ([one] for one in at_most)
    if length <= min(at_most):
        return [length]
    while sum(rising) + sum(falling) < length * (1 - 1e-9):
        side = rising if rising[-1] <= falling[-1] else falling
        side.append(min(growth * side[-1], longest))
    scale = length / (sum(rising) + sum(falling))
    return [scale * size for size in [*rising, *reversed(falling)]]
