"""How points and whole sections of a bar of revolution move in one order of the series."""

from __future__ import annotations

from typing import Final

import numpy as np

from stickout.fem.revolved.grid import values_of
from stickout.fem.revolved.rigid import Rigid, rigid_of
from stickout.fem.revolved.wave import Wave
from stickout.meshes.tagged import FloatArray, IntArray

# Up to this share of the radius beyond a ring a point counts as on it: a mesh's middle nodes lie there.
_BESIDE: Final = 2e-3
# The rings of the bar itself.
_OWN: Final = ("bar", "grip")
_ROUNDING: Final = 1e-9


def motion(wave: Wave, points: FloatArray, *, columns: FloatArray, turn: float) -> FloatArray:
    """Return the motion of points, shape (n_points, 3, n).

    Parameters
    ----------
    wave
        The order of the series.
    points
        Where [m], shape (n_points, 3).
    columns
        Unknowns of its chain, shape (n_unknowns, n).
    turn
        By how much the motion is turned about the bar [rad].
    """
    angle = np.arctan2(points[:, 2], points[:, 1])
    radius = _onto_rings(wave, np.hypot(points[:, 1], points[:, 2]))
    moved = np.zeros((len(points), 3, columns.shape[1]))
    lengths = _lengths_at(wave, points[:, 0], radius)
    for number, nodal in enumerate(wave.chain.spread(columns)):
        mine = np.flatnonzero(lengths == number)
        moved[mine] = _moved(wave, number, nodal, x=points[mine, 0], radius=radius[mine])
    # Of order 0 there is a twist, which has no cosine, or none of it: both factors are 1.
    phase = wave.order * angle - turn
    cosines, sines = (np.cos(phase), np.sin(phase)) if wave.order else np.ones((2, len(points)))
    radial, around = moved[:, 0] * cosines[:, None], moved[:, 1] * sines[:, None]
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    out: FloatArray = np.stack(
        [moved[:, 2] * cosines[:, None], radial * c - around * s, radial * s + around * c], axis=1
    )
    return out


def _moved(wave: Wave, number: int, nodal: FloatArray, *, x: FloatArray, radius: FloatArray) -> FloatArray:
    """Return how points of a length move (radial, round, along), shape (n_points, 3, n)."""
    places, at_x = np.unique(np.round(x, 12), return_inverse=True)
    radii, at_r = np.unique(np.round(radius, 12), return_inverse=True)
    unknowns = wave.unknowns[number]
    section = np.tensordot(unknowns.grid.values(radii), unknowns.spread, axes=1)
    along = values_of(wave.cells.lines(number), places, degree=wave.cells.fine.along)
    grid = np.tensordot(along, nodal, axes=1)
    return np.asarray(np.einsum("rin,xnk->xrik", section, grid, optimize=True)[at_x, at_r])


def _lengths_at(wave: Wave, x: FloatArray, radius: FloatArray) -> IntArray:
    """Return the length that each point is of: on a face one that has its radius."""
    lengths = wave.bar.lengths
    before = np.clip(np.searchsorted([one.stop for one in lengths], x), 0, len(lengths) - 1)
    after = np.minimum(before + 1, len(lengths) - 1)
    stop = np.array([one.stop for one in lengths])[before]
    beside = _BESIDE * wave.bar.widest
    low, high = (np.array([one.radii[end] for one in lengths])[before] for end in (0, -1))
    outside = (radius < low - beside) | (radius > high + beside)
    return np.where(outside & (np.abs(x - stop) < beside), after, before)


def _onto_rings(wave: Wave, radius: FloatArray) -> FloatArray:
    """Return radii of which those just beyond a ring lie on it."""
    rings = np.array(wave.bar.radii)
    nearest = rings[np.abs(radius[:, None] - rings).argmin(axis=1)]
    return np.where(np.abs(radius - nearest) < _BESIDE * rings[-1], nearest, radius)


def section_loads(wave: Wave, x: float) -> tuple[Rigid, FloatArray]:
    """Return how the bar's section at a place moves as a rigid one, and unit loads of these motions.

    Parameters
    ----------
    wave
        The order of the series.
    x
        Distance from the holder face [m]; where sizes change there, the section behind counts.

    Returns
    -------
    tuple
        The rigid motions, and loads spread over the section, shape (n_unknowns, n_rigid), a wrap left out.
    """
    lengths, cells = wave.bar.lengths, wave.cells
    stops = np.array([one.stop for one in lengths])
    number = min(int(np.searchsorted(stops * (1 - _ROUNDING), x, side="right")), len(lengths) - 1)
    rings = [ring for ring in enumerate(lengths[number].rings) if ring[1].region in _OWN]
    rigid = rigid_of(wave.unknowns[number], rings, ring=cells.ring[number])
    along = values_of(cells.lines(number), np.array([x]), degree=cells.fine.along)[0]
    return rigid, wave.chain.loads(number, along=along, across=rigid.of.T)
