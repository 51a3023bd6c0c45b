"""The camera of every picture: parallel, from above, from one side of the bar, z up.

A parallel view keeps lengths comparable along the bar and lets words be placed by pixel, because a
point of the bar frame lands on the same pixel in every renderer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.meshes.tagged import FloatArray

AZIMUTH_DEG = 26.0
ELEVATION_DEG = 21.0


@dataclass(frozen=True)
class View:
    """A parallel camera fitted to a picture.

    Attributes
    ----------
    size
        Width and height of the picture [pixel].
    axes
        Unit vectors to the right, up and toward the viewer, rows, shape (3, 3).
    middle
        The point of the bar frame that lands on the middle of the picture [m], shape (3,).
    scale
        Pixels per metre in the plane of the picture.
    """

    size: tuple[int, int]
    axes: FloatArray
    middle: FloatArray
    scale: float

    @property
    def toward(self) -> FloatArray:
        """Unit vector from the bar toward the viewer, shape (3,)."""
        return np.asarray(self.axes[2])

    def pixels(self, points: FloatArray) -> FloatArray:
        """Return pixel positions (x to the right, y down) of points (..., 3) [m], shape (..., 2)."""
        flat = (points - self.middle) @ self.axes[:2].T
        return np.asarray(self.size) / 2 + flat * [self.scale, -self.scale]

    def depth(self, points: FloatArray) -> FloatArray:
        """Return how near the viewer points (..., 3) are [m]; larger is nearer, shape (...)."""
        return np.asarray((points - self.middle) @ self.axes[2])


def camera_axes(
    *, side: float = -1.0, azimuth_deg: float = AZIMUTH_DEG, elevation_deg: float = ELEVATION_DEG
) -> FloatArray:
    """Return the unit vectors to the right, up and toward the viewer as rows, shape (3, 3).

    ``side`` is -1 for a viewer on the -y side, who sees x run to the right, +1 for one on the +y side, who
    sees it run to the left.
    """
    a, e = np.radians(azimuth_deg), np.radians(elevation_deg)
    right = np.array([-side * np.cos(a), np.sin(a), 0.0])
    toward = np.array([np.cos(e) * np.sin(a), side * np.cos(e) * np.cos(a), np.sin(e)])
    return np.stack([right, np.cross(toward, right), toward])


def fit_view(
    points: FloatArray,
    *,
    size: tuple[int, int],
    margins: tuple[float, float, float, float],
    axes: FloatArray | None = None,
    tall: FloatArray | None = None,
) -> View:
    """Return the view in which the points just fill what the margins leave.

    Parameters
    ----------
    points
        Everything that must be seen [m], shape (n, 3).
    size
        Width and height of the picture [pixel].
    margins
        Left, top, right and bottom border kept free [pixel].
    axes
        The camera's axes, rows, shape (3, 3); None for the usual ones.
    tall
        Points that must be seen in height alone [m], shape (m, 3): what runs out of the frame sideways.

    Returns
    -------
    View
    """
    axes = camera_axes() if axes is None else axes
    flat = points @ axes[:2].T
    low, high = flat.min(axis=0), flat.max(axis=0)
    if tall is not None and len(tall):
        heights = tall @ axes[1]
        low[1], high[1] = min(low[1], heights.min()), max(high[1], heights.max())
    left, top, right, bottom = margins
    room = np.array([size[0] - left - right, size[1] - top - bottom])
    scale = float(np.min(room / np.maximum(high - low, 1e-12)))
    # The middle of the free room is not the middle of the picture; shift the aim by the difference.
    shift = np.array([left - right, bottom - top]) / (2 * scale)
    aim = (low + high) / 2 - shift
    return View(size=size, axes=axes, middle=aim @ axes[:2], scale=scale)
