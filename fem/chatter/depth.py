"""The depth of cut at which the margin falls to one: the smallest such depth, if there is one.

The cut's matrix depends on the depth through the engaged edge and the mean chip, and the margin need
not fall steadily with depth, so the depths are scanned from below and the first crossing is refined.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import limit_on_grid
from stickout.fem.chatter.valleys import frequency_grid
from stickout.fem.force.directions import MatrixOfDepth
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]

_REFINE = 7
# A logarithm of the margin below this is zero: finer than the valleys are.
_CLOSE = 1e-6
_MARGIN_CAP = 1e6
_ROUNDS = 2


@dataclass(frozen=True)
class DepthScan:
    """Margins over the depth of a cut, and where they first fall to one, at each of n flank dampings.

    Attributes
    ----------
    depths
        Depths [m], rising, shape (k,).
    margin
        Margin at each [-], shape (k, n).
    limit
        Smallest depth at which the margin is one [m], shape (n,): inf where every depth is stable (where the
        passive width has saturated no depth limits), the shallowest where even that is unstable.
    """

    depths: FloatArray
    margin: FloatArray
    limit: FloatArray


def depth_scan(
    model: ModalModel,
    matrix_of_depth: MatrixOfDepth,
    *,
    depths: FloatArray,
    flank_of_depth: MatrixOfDepth | None = None,
) -> DepthScan:
    """Return the margins over depth and the smallest depth at which the cut stops being stable.

    Parameters
    ----------
    model
        One modal model.
    matrix_of_depth
        Depths [m] to matrices A in the bar frame [N/m].
    depths
        Depths to look at [m], rising, shape (k,).
    flank_of_depth
        Depths [m], shape (..., n) or (..., 1), to damping of the rubbing flank [N s/m], shape (..., n, 3, 3);
        None: no rubbing, n is 1.

    Returns
    -------
    DepthScan

    Raises
    ------
    InputError
        The depths do not rise from above zero.

    Notes
    -----
    The margin at the limit is one within 1e-4 (tests/fem/chatter/test_depth.py). A dip of the margin
    narrower than a step of the depths can be missed. Deeper cuts may be stable again.

    Source
    ------
    Scan and false position on log margin over log depth (computed here).
    """
    if not (depths[0] > 0.0 and np.all(np.diff(depths) > 0.0)):
        raise InputError(
            key="depths",
            given=(float(depths[0]), float(depths[-1])),
            allowed="rising, above 0 m",
            mend="Give depths up to the length of the edge.",
        )
    column = depths[:, None]
    grid = frequency_grid(model, felt_directions(matrix_of_depth(column)))

    def margins(depth: FloatArray) -> FloatArray:
        flank = None if flank_of_depth is None else flank_of_depth(depth)
        return limit_on_grid(model, matrix_of_depth(depth), grid=grid, rounds=_ROUNDS, flank=flank).margin

    def excess(depth: FloatArray) -> FloatArray:
        return _excess(margins(depth))

    margin = margins(column)
    return DepthScan(depths, margin, _first_crossing(excess, depths, scanned=_excess(margin)))


def _excess(margin: FloatArray) -> FloatArray:
    """Return the logarithm of margins, those without a limit cut off."""
    return np.asarray(np.log(np.minimum(margin, _MARGIN_CAP)))


def _first_crossing(
    excess: Callable[[FloatArray], FloatArray], depths: FloatArray, *, scanned: FloatArray
) -> FloatArray:
    """Return the smallest depth at which the excess falls through zero, from a scan of shape (k, n)."""
    below = scanned < 0.0
    if not below.any() or np.all(below[0]):
        return np.full(scanned.shape[1:], depths[0] if below.any() else np.inf)
    upper = np.clip(np.argmax(below, axis=0), 1, len(depths) - 1)
    ends = [
        (np.log(depths[at]), np.take_along_axis(scanned, at[None], axis=0)[0]) for at in (upper - 1, upper)
    ]
    found = _false_position(lambda x: excess(np.exp(x)), ends[0], high=ends[1])
    limit = np.where(below.any(axis=0), np.exp(found), np.inf)
    return np.asarray(np.where(below[0], depths[0], limit))


def _false_position(
    function: Callable[[FloatArray], FloatArray],
    low: tuple[FloatArray, FloatArray],
    *,
    high: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Return where each function falls through zero between two places, given with their values."""
    (x_low, f_low), (x_high, f_high) = low, high
    found, was_above = x_low, np.full(np.shape(x_low), 0.5)
    there = (f_low > 0.0) == (f_high > 0.0)  # nothing to be found
    for _ in range(_REFINE):
        step = np.where(f_low == f_high, 1.0, f_low - f_high)
        # What is there stays, so that no place depends on the others beside it.
        found = np.where(there, found, x_low + (x_high - x_low) * np.clip(f_low / step, 0.0, 1.0))
        value = function(found)
        there |= np.abs(value) < _CLOSE
        if there.all():
            break
        above = value > 0.0
        # Illinois rule: an end that stays put twice has its value halved, so that both ends move in.
        again = np.where(was_above == above, 0.5, 1.0)
        f_low, f_high = np.where(above, value, f_low * again), np.where(above, f_high * again, value)
        x_low, x_high = np.where(above, found, x_low), np.where(above, x_high, found)
        was_above = above.astype(np.float64)
    return found
