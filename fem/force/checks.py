"""Cuts and speeds that no lathe can make are refused here, with a word on how to mend them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]


def check_cut(
    depth: FloatArray | float,
    feed: float,
    *,
    nose_radius: float,
    edge_angle_deg: float,
    bar_size: float | None = None,
) -> None:
    """Refuse a cut that no edge can make.

    Parameters
    ----------
    depth
        Radial depth of cut [m].
    feed
        Feed per revolution [m].
    nose_radius
        Nose radius [m], zero for a sharp corner.
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].
    bar_size
        Smallest outer size of the bar [m], None when unknown.

    Raises
    ------
    InputError
        Depth or feed not above zero, nose radius negative or larger than the bar, feed not below
        twice the nose radius, edge angle outside 10 to 120 degrees.

    Source
    ------
    Range of the edge angle: the project's own limit (common practice, no source).
    """
    if not np.all(np.asarray(depth) > 0.0):
        raise InputError(
            key="depth",
            given=float(np.min(depth)),
            allowed="above 0",
            mend="Give the radial depth: half of the change in diameter.",
        )
    if not feed > 0.0:
        raise InputError(key="feed", given=feed, allowed="above 0", mend="Give the feed per revolution.")
    if not 10.0 <= edge_angle_deg <= 120.0:
        raise InputError(
            key="edge_angle_deg",
            given=edge_angle_deg,
            allowed="from 10 to 120 degrees",
            mend="Measure between the cutting edge and the feed direction (ISO 3002 kappa_r).",
        )
    if not nose_radius >= 0.0 or (bar_size is not None and nose_radius > bar_size):
        raise InputError(
            key="nose_radius",
            given=nose_radius,
            allowed="zero or above, and not above the size of the bar"
            + ("" if bar_size is None else f" ({bar_size:g} m)"),
            mend="Read the nose radius from the insert's code, or measure it; 0.2 to 0.8 mm is usual.",
        )
    if nose_radius > 0.0 and feed >= 2.0 * nose_radius:
        raise InputError(
            key="feed",
            given=feed,
            allowed=f"below twice the nose radius ({2.0 * nose_radius:g} m)",
            mend="Lower the feed, or give nose_radius = 0 for a sharp corner.",
        )


def check_speeds(speeds_rpm: Sequence[float]) -> FloatArray:
    """Return the speeds as an array.

    Parameters
    ----------
    speeds_rpm
        Spindle speeds [rpm].

    Returns
    -------
    ndarray
        The same speeds, shape (n,).

    Raises
    ------
    InputError
        The list is empty or has a speed that is not above zero.

    Source
    ------
    The project's own rule.
    """
    speeds = np.asarray(speeds_rpm, dtype=np.float64)
    if speeds.size == 0 or not np.all(speeds > 0.0):
        raise InputError(
            key="speeds_rpm",
            given=list(speeds_rpm),
            allowed="at least one speed, each above 0 rpm",
            mend="List the speeds of your lathe's chart, or leave the key out.",
        )
    return speeds
