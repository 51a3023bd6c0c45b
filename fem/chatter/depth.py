"""The depth of cut at which the margin falls to one: the smallest such depth, if there is one.

The cut's matrix depends on the depth through the engaged edge and the mean chip, and the margin need
not fall steadily with depth, so the depths are scanned from below and the first crossing is refined.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import limit_on_grid
from stickout.fem.chatter.valleys import frequency_grid
from stickout.fem.force.directions import MatrixOfDepth
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]

_SCAN = 20
_REFINE = 7
_MARGIN_CAP = 1e6


def depth_limit(
    model: ModalModel,
    matrix_of_depth: MatrixOfDepth,
    *,
    deepest: float,
    shallowest: float = 1e-6,
    factor: FloatArray | float = 1.0,
    flank_of_depth: MatrixOfDepth | None = None,
) -> FloatArray:
    """Return the smallest depth at which the cut stops being stable at every speed.

    Parameters
    ----------
    model
        The modal model, one or a batch of shape (m,).
    matrix_of_depth
        Depths [m] to matrices A in the bar frame [N/m].
    deepest
        Largest depth that is looked at [m], such as the length of the edge.
    shallowest
        Smallest depth that is looked at [m].
    factor
        Factor on the force coefficients [-], shape () or (m,).
    flank_of_depth
        Depths [m] to damping of the rubbing flank [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    ndarray
        Depth limit [m], shape (...); inf where every depth up to the deepest is stable (where the
        passive width has saturated no depth limits), and ``shallowest`` where even that is unstable.

    Raises
    ------
    InputError
        The deepest depth is not above the shallowest.

    Notes
    -----
    The margin at the answer is one within 1e-4 (tests/test_cut_depth.py). A dip of the margin narrower
    than a step of the scan (a factor of about 1.6 in depth) can be missed.
    Deeper cuts may be stable again.

    Source
    ------
    Scan and false position on log margin over log depth (computed here).
    """
    if not deepest > shallowest > 0.0:
        raise InputError(
            key="deepest",
            given=deepest,
            allowed=f"above {shallowest:g} m",
            mend="Give the length of the edge.",
        )
    depths = np.geomspace(shallowest, deepest, _SCAN)
    matrices = matrix_of_depth(depths)
    grid = frequency_grid(model, felt_directions(matrices))

    def excess(depth: FloatArray) -> FloatArray:
        flank = None if flank_of_depth is None else flank_of_depth(depth)
        found = limit_on_grid(model, matrix_of_depth(depth), grid=grid, zooms=4, flank=flank)
        margin = found.margin / np.asarray(factor)
        return np.asarray(np.log(np.minimum(margin, _MARGIN_CAP)))

    scanned = _scanned(excess, depths)
    below = scanned < 0.0
    if np.all(below[0]):
        return np.full(scanned.shape[1:], shallowest)
    upper = np.clip(np.argmax(below, axis=0), 1, _SCAN - 1)
    ends = [
        (np.log(depths[at]), np.take_along_axis(scanned, at[None], axis=0)[0]) for at in (upper - 1, upper)
    ]
    found = _false_position(lambda x: excess(np.exp(x)), ends[0], high=ends[1])
    limit = np.where(below.any(axis=0), np.exp(found), np.inf)
    return np.asarray(np.where(below[0], shallowest, limit))


def _scanned(excess: Callable[[FloatArray], FloatArray], depths: FloatArray) -> FloatArray:
    """Return the excess at each depth, from below until every sample has crossed; the rest stays zero."""
    values = [excess(depths[0])]
    for depth in depths[1:]:
        if np.all(np.min(values, axis=0) < 0.0):
            break
        values.append(excess(depth))
    rest = [np.zeros_like(values[0])] * (len(depths) - len(values))
    return np.stack([*values, *rest])


def _false_position(
    function: Callable[[FloatArray], FloatArray],
    low: tuple[FloatArray, FloatArray],
    *,
    high: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Return where each function falls through zero between two places, given with their values."""
    (x_low, f_low), (x_high, f_high) = low, high
    found, was_above = x_low, np.full(np.shape(x_low), 0.5)
    for _ in range(_REFINE):
        step = np.where(f_low == f_high, 1.0, f_low - f_high)
        found = x_low + (x_high - x_low) * np.clip(f_low / step, 0.0, 1.0)
        value = function(found)
        above = value > 0.0
        # Illinois rule: an end that stays put twice has its value halved, so that both ends move in.
        again = np.where(was_above == above, 0.5, 1.0)
        f_low, f_high = np.where(above, value, f_low * again), np.where(above, f_high * again, value)
        x_low, x_high = np.where(above, found, x_low), np.where(above, x_high, found)
        was_above = above.astype(np.float64)
    return found
