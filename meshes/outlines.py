"""Outlines of a section: what bounds it, how far it reaches along a ray, its exact area and inertia."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Outline:
    """A centred outline: a circle, a rectangle, or a circle cut by two flats normal to z.

    The outline is the part of the disc of ``radius`` that lies in ``|y| <= half_width`` and
    ``|z| <= half_height``; ``inf`` stands for no such bound. Lengths in metres.
    """

    radius: float = np.inf
    half_width: float = np.inf
    half_height: float = np.inf

    def reach(self, angle: FloatArray) -> FloatArray:
        """Return the distance from the axis to the outline along rays at ``angle`` from y [rad]."""
        with np.errstate(divide="ignore"):
            across = self.half_width / np.abs(np.cos(angle))
            up = self.half_height / np.abs(np.sin(angle))
        return np.minimum(np.minimum(across, up), self.radius)

    def corners(self) -> list[float]:
        """Return the angles from y [rad] in the first quadrant at which the outline has a corner."""
        if np.isfinite(self.half_width) and np.isfinite(self.half_height):
            return [float(np.arctan2(self.half_height, self.half_width))]
        if self.half_height < self.radius:
            return [float(np.arcsin(self.half_height / self.radius))]
        return []

    def every_corner(self) -> list[float]:
        """Return the angles from y [rad] of all corners, from 0 to two pi."""
        return [a for c in self.corners() for a in (c, np.pi - c, np.pi + c, 2 * np.pi - c)]

    def ring(self, count: int, turn: float = 0.0) -> FloatArray:
        """Return points round the outline [m], the corners among them, shape (n, 2), columns y and z.

        Parameters
        ----------
        count
            Rays that are evenly spaced; the corners come to them.
        turn
            Angle by which the outline is turned about +x [rad].
        """
        rays = np.unique([*np.linspace(0.0, 2 * np.pi, count, endpoint=False), *self.every_corner()])
        ways = np.stack([np.cos(rays + turn), np.sin(rays + turn)], axis=1)
        points: FloatArray = self.reach(rays)[:, None] * ways
        return points

    def area(self) -> float:
        """Return the exact area [m^2]."""
        if not np.isfinite(self.radius):
            return 4 * self.half_width * self.half_height
        t = np.arcsin(min(1.0, self.half_height / self.radius))
        return float(self.radius**2 * (2 * t + np.sin(2 * t)))

    def second_moments(self) -> tuple[float, float]:
        """Return the exact second moments [m^4]: for bending along y (integral of y^2) and along z."""
        if not np.isfinite(self.radius):
            w, h = self.half_width, self.half_height
            return 4 * h * w**3 / 3, 4 * w * h**3 / 3
        t = np.arcsin(min(1.0, self.half_height / self.radius))
        r4 = self.radius**4
        along_z = r4 * (t / 2 - np.sin(4 * t) / 8)
        along_y = r4 * (t / 2 + np.sin(2 * t) / 3 + np.sin(4 * t) / 24)
        return float(along_y), float(along_z)
