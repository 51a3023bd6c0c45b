"""Triangles turned into pixels, the nearest seen: drawing with numpy alone, the same on every machine.

A triangle is cut into the pieces of pixel rows that lie in it; along each piece every quantity rises
evenly, so that all pixels of all triangles are filled by a few operations on whole arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.meshes.tagged import FloatArray, IntArray

Colours = NDArray[np.uint32]  # red, green and blue from the lowest byte on
Nearness = NDArray[np.float32]
WHITE: Final = 0xFFFFFF
SHADES: Final = 512  # steps of light: finer than the 256 of a channel, so that none shows
BRIGHTEST: Final = 1.1
_FLAT: Final = 1e-9  # twice the area [pixel squared] below which a triangle is seen from its edge


@dataclass(frozen=True)
class Triangles:
    """Triangles in pixels of the grid they are drawn on.

    Attributes
    ----------
    corners
        x to the right and y down [pixel], shape (n, 3, 2).
    near
        How near the viewer each corner is, larger is nearer, shape (n, 3).
    ink
        Place in the table of colours, its whole part the row, shape (n, 3).
    shade
        Light, 0 to ``BRIGHTEST``, shape (n, 3).
    """

    corners: FloatArray
    near: FloatArray
    ink: FloatArray
    shade: FloatArray


@dataclass(frozen=True)
class Fragments:
    """What triangles put on pixels: one entry for each pixel of each triangle.

    Attributes
    ----------
    place
        Which pixel, counted row by row, shape (n,).
    near
        How near the viewer, shape (n,).
    colour
        Its colour, shape (n,).
    """

    place: IntArray
    near: Nearness
    colour: Colours

    def only(self, chosen: NDArray[np.bool_] | IntArray) -> Fragments:
        """Return some of them."""
        return Fragments(self.place[chosen], self.near[chosen], self.colour[chosen])


@dataclass(frozen=True)
class Canvas:
    """A grid of pixels: colour and nearness of what is seen, shape (height, width); changed in place."""

    colour: Colours
    near: Nearness

    @classmethod
    def blank(cls, width: int, height: int) -> Canvas:
        """Return white paper, farther than everything."""
        return cls(
            np.full((height, width), WHITE, dtype=np.uint32),
            np.full((height, width), -np.inf, dtype=np.float32),
        )

    def copy(self) -> Canvas:
        """Return another with the same on it."""
        return Canvas(self.colour.copy(), self.near.copy())

    def take_rows(self, other: Canvas, rows: slice) -> None:
        """Make some rows those of another canvas."""
        self.colour[rows] = other.colour[rows]
        self.near[rows] = other.near[rows]

    def lay(self, fragments: Fragments) -> None:
        """Draw fragments where nothing nearer is seen."""
        colour, near = self.colour.reshape(-1), self.near.reshape(-1)
        np.maximum.at(near, fragments.place, fragments.near)
        seen = fragments.near == near[fragments.place]
        colour[fragments.place[seen]] = fragments.colour[seen]

    def seen(self) -> Fragments:
        """Return the pixels that something was drawn on, as fragments."""
        place = np.flatnonzero(self.near > -np.inf)
        return Fragments(place, self.near.reshape(-1)[place], self.colour.reshape(-1)[place])


def colour_table(colours: Sequence[str]) -> Colours:
    """Return each colour (``#rrggbb``) under each shade, shape (n_colours * SHADES,)."""
    channels = np.array([[int(one[at : at + 2], 16) for at in (1, 3, 5)] for one in colours])
    light = BRIGHTEST * np.arange(SHADES) / (SHADES - 1)
    lit = np.minimum(np.rint(channels[:, None, :] * light[:, None]), 255).astype(np.uint32)
    return np.asarray(lit @ np.array([1, 1 << 8, 1 << 16], dtype=np.uint32)).reshape(-1)


def channels(colours: Colours) -> NDArray[np.uint8]:
    """Return colours (n,) as bytes, red first and nothing last, shape (n, 4)."""
    return np.ascontiguousarray(colours).view(np.uint8).reshape(-1, 4)


def fragments_of(triangles: Triangles, size: tuple[int, int], *, table: Colours) -> Fragments:
    """Return what triangles put on the pixels of a grid.

    A pixel belongs to a triangle that holds its middle; of two with a common side to one alone, since the
    side's place on a row is computed alike for both.

    Parameters
    ----------
    triangles
        The triangles.
    size
        Width and height of the grid [pixel].
    table
        As ``colour_table`` gives it.

    Returns
    -------
    Fragments

    Source
    ------
    Scan conversion by rows: common practice, no source.
    """
    width, height = size
    order = np.argsort(triangles.corners[:, :, 1], axis=1)  # from the highest corner to the lowest
    own = np.arange(len(order))[:, None]
    corners = triangles.corners[own, order]
    values = np.stack([triangles.near, triangles.ink, triangles.shade * ((SHADES - 1) / BRIGHTEST)], axis=2)
    values = values[own, order]
    slopes, whole = _slopes(corners, values)
    low, high = (np.clip(np.ceil(corners[:, at, 1] - 0.5), 0, height).astype(np.int64) for at in (0, 2))
    count = np.where(whole, np.maximum(high - low, 0), 0)
    owner = np.repeat(np.arange(len(count)), count)
    row = _counted(count) + low[owner]
    left, right = _ends(corners, owner, np.asarray(row + 0.5), width)
    length = right - left
    first = corners[:, 0][owner]
    begin = values[:, 0][owner]
    begin += slopes[:, 0][owner] * (left + 0.5 - first[:, 0])[:, None]
    begin += slopes[:, 1][owner] * (row + 0.5 - first[:, 1])[:, None]
    along = _counted(length)
    step = along.astype(np.float32)
    near, ink, shade = (
        np.repeat(one.astype(np.float32), length) + np.repeat(rise.astype(np.float32), length) * step
        for one, rise in zip(begin.T, slopes[:, 0][owner].T, strict=True)
    )
    key = ink.astype(np.int32) * SHADES + shade.astype(np.int32)
    place = np.repeat(row * width + left, length)
    place += along
    return Fragments(place, near, table.take(key, mode="clip"))


def _counted(counts: IntArray) -> NDArray[np.int32]:
    """Return 0, 1, 2 ... anew for each count, shape (sum of counts,).

    >>> _counted(np.array([2, 0, 3])).tolist()
    [0, 1, 0, 1, 2]
    """
    before = (np.cumsum(counts) - counts).astype(np.int32)
    number = np.arange(int(counts.sum()), dtype=np.int32)
    number -= np.repeat(before, counts)
    return number


def _slopes(corners: FloatArray, values: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return how values (n, 3, k) at corners (n, 3, 2) rise per pixel, (n, 2, k), and which have an area."""
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    whole = np.abs(area) > _FLAT
    u, v = values[:, 1] - values[:, 0], values[:, 2] - values[:, 0]
    right = u * b[:, 1, None] - v * a[:, 1, None]
    down = v * a[:, 0, None] - u * b[:, 0, None]
    return np.stack([right, down], axis=1) / np.where(whole, area, 1.0)[:, None, None], whole


def _ends(corners: FloatArray, owner: IntArray, y: FloatArray, width: int) -> tuple[IntArray, IntArray]:
    """Return the first pixel of each piece of a row at height ``y``, and the one after its last."""
    with np.errstate(divide="ignore", invalid="ignore"):  # a level side crosses no middle of a row

        def crossing(one: int, two: int) -> FloatArray:
            run = (corners[:, two, 0] - corners[:, one, 0]) / (corners[:, two, 1] - corners[:, one, 1])
            return np.asarray(corners[owner, one, 0] + run[owner] * (y - corners[owner, one, 1]))

        whole = crossing(0, 2)
        bent = np.where(y < corners[owner, 1, 1], crossing(0, 1), crossing(1, 2))
    low, high = np.minimum(whole, bent), np.maximum(whole, bent)
    left, right = (np.clip(np.ceil(one - 0.5), 0, width).astype(np.int64) for one in (low, high))
    return left, np.maximum(left, right)
