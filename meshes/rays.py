"""The rays between the cells of a section about the axis: through every corner, halved as often as asked."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from stickout.meshes.outlines import Outline
from stickout.meshes.tagged import FloatArray

# How much wider than even the gap between two rays may be before the cells behind it fold (computed here).
_WIDEST = 1.35


class CoarseError(ValueError):
    """The section needs more cells round the axis than were asked for."""


def ray_angles(outlines: Sequence[Outline], around: int, *, halvings: int = 0) -> FloatArray:
    """Return the angles of the rays through corners of cells and through middles of their edges, in turn.

    Parameters
    ----------
    outlines
        From inside to outside; every corner of one has a ray.
    around
        Cells in a quadrant before they are halved.
    halvings
        How often they are halved, so that the rays of less are among those of more.

    Returns
    -------
    ndarray
        Angles from y [rad], rising from about -pi/4 on, shape (8 * around * 2**halvings,).

    Raises
    ------
    CoarseError
        ``around`` is too small for the corners.
    """
    rays = _coarse_rays(outlines, around)
    for _ in range(halvings):
        # Halved where the first outline's edges are: the middle of an arc, or of a straight edge.
        ends = outlines[0].reach(rays) * np.exp(1j * rays)
        half_way = np.angle((ends + np.roll(ends, -1)) / ends)
        rays = np.stack([rays, rays + half_way], axis=1).ravel()
    middles = (rays + np.append(rays[1:], rays[0] + 2 * np.pi)) / 2
    return np.stack([rays, middles], axis=1).ravel()


def _coarse_rays(outlines: Sequence[Outline], around: int) -> FloatArray:
    """Return the angles of the 4*around rays through the cells' corners, rising."""
    odd = around % 2
    position = (np.arange(around + 1 - odd) + odd / 2) / around
    # The inner block is as flat as the first outline: in a frame where both are round the rays fit it.
    flat = float(np.divide(*outlines[0].reach(np.array([np.pi / 2, 0.0]))))
    corners = sorted({round(float(np.arctan(np.tan(c) / flat)), 9) for o in outlines for c in o.corners()})
    choices = list(combinations([p for p in position if 0 < p < 1], len(corners)))
    if not choices:
        raise CoarseError("fewer rays than corners")
    spread = [np.interp(position, [0.0, *c, 1.0], [0.0, *corners, np.pi / 2]) for c in choices]
    # An odd number of cells has no ray along y and z, but one on either side of each.
    widest = [np.diff(np.concatenate([[-r[0]], r, [np.pi - r[-1]]])).max() for r in spread]
    first = spread[int(np.argmin(np.round(widest, 9)))]
    if min(widest) > _WIDEST * np.pi / 2 / around:
        raise CoarseError("a corner lies far from every ray")
    first = np.where(first < np.pi / 2, np.arctan(flat * np.tan(first)), np.pi / 2)
    rays = np.concatenate([first, np.pi - first, np.pi + first, 2 * np.pi - first])
    rays = np.unique(np.round(np.mod(rays, 2 * np.pi), 12))
    before = (around + 1) // 2
    rays = np.roll(rays, before)
    rays[:before] -= 2 * np.pi
    return rays
