"""The bell curve: the share that lies below a value, and the value below which a share lies.

As ``scipy.special`` has them, whose whole import takes longer than a cut: its compiled curve serves.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from stickout.fem.compiled import compiled
from stickout.meshes.tagged import FloatArray

_special = compiled("scipy.special._special_ufuncs", needs=("ndtr",), otherwise="scipy.special")
_value_above = np.frompyfunc(NormalDist().inv_cdf, 1, 1)


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
    The standard library's (Wichura 1988, recalled, not opened).
    """
    return np.asarray(_value_above(np.asarray(share, dtype=float)), dtype=float)
