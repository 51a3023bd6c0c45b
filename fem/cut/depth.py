"""The depth of cut at which the margin falls to one: the smallest such depth, if there is one.

The cut's matrix depends on the depth through the engaged edge and the mean chip, and the margin need
not fall steadily with depth, so the depths are scanned from below and the first crossing is refined.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fem.cut.directions import CutDirections, matrix_in_bar_frame
from fem.cut.force import ForceLaw, tangent_coefficient
from fem.cut.loop import felt_directions, lowest_real
from fem.cut.nose import cut_matrix, engaged_edge
from fem.cut.receptance import ModalModel, frequency_nodes, projected_receptance
from fem.cut.stability import absolute_limit, margin_from_real
from meshes.errors import InputError

FloatArray = NDArray[np.float64]
MatrixOfDepth = Callable[[FloatArray], FloatArray]

_SCAN = 20
_REFINE = 8
_MARGIN_CAP = 1e6
_SLACK = 0.2
"""The scan reads margins up to 3 % high, as its frequencies are not refined. Margins fall as little as the
0.3th power of depth, so the bracket's lower end is moved down by this much of log depth."""


def nose_matrix(
    directions: CutDirections, law: ForceLaw, *, feed: float, nose_radius: float, edge_angle_deg: float
) -> MatrixOfDepth:
    """Return the function that gives A in the bar frame for depths of cut.

    Both coefficients are the tangents of the power law at the mean chip thickness.

    Parameters
    ----------
    directions
        Directions of the cut.
    law
        The force law.
    feed
        Feed per revolution [m].
    nose_radius
        Nose radius [m].
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].

    Returns
    -------
    callable
        Depths [m] of shape (...) to matrices [N/m] of shape (..., 3, 3).

    Raises
    ------
    InputError
        When called: a depth no edge can cut, see ``check_cut``.

    Source
    ------
    physics.md section b, general nose (opened).
    """

    def matrix(depth: FloatArray) -> FloatArray:
        edge = engaged_edge(depth, feed, nose_radius=nose_radius, edge_angle_deg=edge_angle_deg)
        tangential = tangent_coefficient(law, edge.mean_chip)
        in_cut = cut_matrix(edge, tangential=tangential, thrust=law.thrust_ratio * tangential)
        return matrix_in_bar_frame(directions, in_cut)

    return matrix


def depth_limit(
    model: ModalModel,
    matrix_of_depth: MatrixOfDepth,
    *,
    deepest: float,
    shallowest: float = 1e-6,
    factor: FloatArray | float = 1.0,
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
    than a step of the scan (a factor of about 1.6 in depth), or less than 3 % below one, can be missed.
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
    margins = _scanned(model, matrix_of_depth, depths) / np.asarray(factor)
    below = margins < 1.0
    first = np.argmax(below, axis=0)
    upper = np.clip(first, 1, _SCAN - 1)

    def excess(log_depth: FloatArray) -> FloatArray:
        margin = absolute_limit(model, matrix_of_depth(np.exp(log_depth))).margin / np.asarray(factor)
        return np.asarray(np.log(np.minimum(margin, _MARGIN_CAP)))

    found = _false_position(excess, np.log(depths[upper - 1]) - _SLACK, high=np.log(depths[upper]))
    limit = np.where(below.any(axis=0), np.maximum(np.exp(found), shallowest), np.inf)
    return np.asarray(np.where(below[0], shallowest, limit))


def _false_position(
    function: Callable[[FloatArray], FloatArray], low: FloatArray, *, high: FloatArray
) -> FloatArray:
    """Return where each function falls through zero between low and high."""
    f_low, f_high = function(low), function(high)
    found = low
    for _ in range(_REFINE):
        step = np.where(f_low == f_high, 1.0, f_low - f_high)
        found = low + (high - low) * np.clip(f_low / step, 0.0, 1.0)
        value = function(found)
        above = value > 0.0
        # Illinois rule: the end that stays put has its value halved, so that both ends move in.
        f_low, f_high = np.where(above, value, f_low / 2.0), np.where(above, f_high / 2.0, value)
        low, high = np.where(above, found, low), np.where(above, high, found)
    return found


def _scanned(model: ModalModel, matrix_of_depth: MatrixOfDepth, depths: FloatArray) -> FloatArray:
    """Return the margins on the frequency grid for each depth, shape (n_depths, ...)."""
    matrices = matrix_of_depth(depths)
    rows = felt_directions(matrices)
    # The receptance is the same at every depth: only the small product with A changes.
    grid = projected_receptance(model, frequency_nodes(model), left=rows, right=np.eye(3))
    parts = grid.view(np.float64)
    margins = np.full((len(depths), *grid.shape[:-3]), np.inf)
    for i, matrix in enumerate(matrices):
        loop = (rows @ matrix.T @ parts).view(np.complex128)
        margins[i] = margin_from_real(lowest_real(loop).min(axis=-1))
    return margins
