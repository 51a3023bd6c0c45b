"""The convex outline of points in a plane."""

from __future__ import annotations

import numpy as np

from stickout.meshes.tagged import FloatArray


def convex_outline(points: FloatArray) -> FloatArray:
    """Return the corners of the smallest convex outline round points of a plane.

    Parameters
    ----------
    points
        Points, shape (n, 2).

    Returns
    -------
    ndarray
        Corners counter-clockwise from the leftmost point on, none of them on a straight side, shape (m, 2).

    Source
    ------
    Monotone chains: A. M. Andrew 1979 (recalled, not opened).
    """
    kept = [tuple(one) for one in np.unique(points, axis=0).tolist()]
    # What bends by less than this part of the whole is straight: rounding makes no corners.
    flat = 1e-12 * float(np.prod(np.ptp(points, axis=0)))
    return np.array(_chain(kept, flat)[:-1] + _chain(kept[::-1], flat)[:-1])


def _chain(points: list[tuple[float, ...]], flat: float) -> list[tuple[float, ...]]:
    """Return the lower side of points that are sorted from left to right, both ends included."""
    out: list[tuple[float, ...]] = []
    for x, y in points:
        while len(out) > 1:
            (x0, y0), (x1, y1) = out[-2:]
            if (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0) > flat:
                break
            out.pop()
        out.append((x, y))
    return out
