"""Flat marks laid over a picture: arrows with a white rim, dashed outlines. Pixels only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Shape:
    """A polygon to be filled: its corners [pixel], and whether it is the mark itself or its rim."""

    corners: list[tuple[float, float]]
    inner: bool


def arrow_shape(
    tail: FloatArray, tip: FloatArray, *, shaft: float, head: float, rim: float, both: bool = False
) -> list[Shape]:
    """Return the rim of a flat arrow, then the arrow.

    Parameters
    ----------
    tail, tip
        Its ends [pixel], shape (2,).
    shaft, head
        Widths of shaft and head; the head is as long as it is wide [pixel].
    rim
        Width of the white rim [pixel].
    both
        Whether it has two heads.
    """
    length = float(np.hypot(*(tip - tail)))
    if length < 1e-9:
        return []
    run = (tip - tail) / length
    across = np.array([-run[1], run[0]])
    long = min(head, 0.45 * length)
    shapes = []
    for grow in (rim, 0.0):
        half, wide = 0.5 * shaft + grow, 0.5 * long + 1.4 * grow
        # Along and across the arrow; the rim's point stands farther out, as a mitred corner does.
        point, neck = length + 1.4 * grow, length - long
        corners = [(neck, half), (neck, wide), (point, 0.0), (neck, -wide), (neck, -half)]
        if both:
            corners += [(long, -half), (long, -wide), (-1.4 * grow, 0.0), (long, wide), (long, half)]
        else:
            corners += [(-grow, -half), (-grow, half)]
        places = [tail + one * run + two * across for one, two in corners]
        shapes.append(Shape([(float(x), float(y)) for x, y in places], grow == 0.0))
    return shapes


def dashes(path: FloatArray, *, on: float, off: float) -> list[FloatArray]:
    """Return the pieces of a closed path (n, 2) that are drawn where it is dashed, each (m, 2) [pixel]."""
    closed = np.concatenate([path, path[:1]])
    steps = np.hypot(*np.diff(closed, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    pieces = []
    for start in np.arange(0.0, run[-1], on + off):
        at = np.linspace(start, min(start + on, run[-1]), 4)
        pieces.append(np.stack([np.interp(at, run, closed[:, axis]) for axis in (0, 1)], axis=1))
    return pieces
