"""The bell curve: the share that lies below a value, and the value below which a share lies.

As ``scipy.special`` has them, whose whole import takes longer than a cut: its compiled curve serves.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from stickout.fem.compiled import compiled
from stickout.meshes.tagged import FloatArray

_special = compiled("scipy.special._special_ufuncs", needs=("ndtr",), otherwise="scipy.special")
_KEPT: Final = 16


def share_below(value: ArrayLike) -> FloatArray:
    """Return the share of a bell curve of mean 0 and width 1 that lies below each value.

    Source
    ------
    Closed form by the complementary error function: common practice, no source.
    """
    return np.asarray(_special.ndtr(np.asarray(value, dtype=float)))


def value_above(share: ArrayLike) -> FloatArray:
    """Return the value below which each share of a bell curve of mean 0 and width 1 lies.

    Parameters
    ----------
    share
        Above 0 and below 1.

    Source
    ------
    First guess: Abramowitz & Stegun 26.2.23, off by 4.5e-4 at most (recalled, not opened); then Halley's
    steps, each of which cubes what is left.
    """
    given = np.asarray(share, dtype=float)
    least = np.minimum(given, 1.0 - given)  # in the lower half, where a share keeps its digits
    t = np.sqrt(-2.0 * np.log(least))
    top = 2.515517 + t * (0.802853 + t * 0.010328)
    value = top / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308))) - t
    for _ in range(2):
        off = (share_below(value) - least) * math.sqrt(2.0 * math.pi) * np.exp(0.5 * value**2)
        value -= off / (1.0 + 0.5 * value * off)
    return np.asarray(np.where(given < 0.5, value, -value))


@lru_cache(maxsize=_KEPT)
def stratified(seed: int, *, count: int, inputs: int) -> FloatArray:
    """Return draws of a bell curve, one from each of as many strata of equal chance as there are draws.

    Parameters
    ----------
    seed
        Seed of order and place in the stratum; the same seed gives the same draws, which are kept.
    count, inputs
        Number of draws, and of inputs they are made for.

    Returns
    -------
    ndarray
        Mean 0 and width 1, shape (inputs, count); not to be written to.

    Source
    ------
    Latin hypercube: McKay, Beckman & Conover 1979 (recalled, not opened).
    """
    rng = np.random.default_rng(seed)
    shares = [(rng.permutation(count) + rng.random(count)) / count for _ in range(inputs)]
    draws = value_above(np.array(shares))
    draws.flags.writeable = False
    return draws
