"""Where the camera stands, and what the frame holds: the fresh surface near, the picture filled."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stickout.cli.show.scene.around import Around
from stickout.cli.show.scene.cutter import directions_of
from stickout.cli.show.scene.scene import Ride, Scene
from stickout.cli.show.scene.signs import force_arrow
from stickout.cli.show.scene.view import AZIMUTH_DEG, ELEVATION_DEG, View, camera_axes, fit_view
from stickout.cli.show.scene.workpiece import Workpiece
from stickout.meshes.tagged import FloatArray

_HIGH_DEG = 40.0
_WIDE = range(22, 31, 2)
_TALL = range(18, 59, 2)
# Of the overhang: how much of the gripped part the frame surely holds; the rest may bleed off.
_GRIPPED_SHOWN = 0.5
# Of the bar's breadth: how far round the nose it surely holds a part that the set-up describes.
_PART_SHOWN = 2.5


def near_side(scene: Scene) -> float:
    """Return +1 where the viewer stands on the +y side of the bar, -1 on the -y side.

    The cutter of a boring bar points to the viewer; a turning tool is seen from where its feed comes from,
    so that the fresh surface is near.
    """
    ways = None if scene.setup is None else directions_of(scene.setup)
    if ways is None or scene.setup is None or scene.setup.cut is None:
        return -1.0
    if scene.setup.cut.operation == "boring":
        return float(np.sign(ways.passive[1])) or -1.0
    return -float(np.sign(ways.feed[1] + ways.passive[1])) or -1.0


def elevation_of(edge_move: FloatArray) -> float:
    """Return how high the camera stands [degrees]: higher for a sideways swing, which is not seen level."""
    length = float(np.linalg.norm(edge_move))
    if length > 0 and edge_move[1] ** 2 > 0.5 * length**2:
        return _HIGH_DEG
    return ELEVATION_DEG


def axes_that_fill(
    points: FloatArray, *, side: float, elevation_deg: float, room: Sequence[float]
) -> FloatArray:
    """Return the camera's axes, rows right, up and toward the viewer, that show the points largest.

    Parameters
    ----------
    points
        Everything that must be seen [m], shape (n, 3).
    side
        From ``near_side``.
    elevation_deg
        From ``elevation_of``.
    room
        Width and height that are free [pixel].
    """
    tried = _WIDE if room[0] > 1.2 * room[1] else _TALL
    found = [camera_axes(side=side, azimuth_deg=turn, elevation_deg=elevation_deg) for turn in tried]

    def scale(axes: FloatArray) -> float:
        return float(np.min(np.asarray(room) / np.ptp(points @ axes[:2].T, axis=0)))

    usual = camera_axes(side=side, azimuth_deg=AZIMUTH_DEG, elevation_deg=elevation_deg)
    best = max(found, key=scale)
    # A percent larger is not worth a flatter look.
    return best if scale(best) > 1.01 * scale(usual) else usual


def must_be_seen(
    scene: Scene, sample: FloatArray, *, swings: FloatArray, things: Around, ride: Ride
) -> FloatArray:
    """Return the points that the frame holds [m], shape (n, 3); what is gripped far inside may bleed off."""
    props = [*things.behind, *things.before]
    bodies = [sample, sample + swings, sample - swings, *(one.solid.points for one in props)]
    bodies += _near(things.work, things.cutter.nose, reach=_PART_SHOWN * _breadth(sample))
    for rider in things.cutter.props:
        move = ride.of(rider.solid.points)
        bodies += [rider.solid.points + move, rider.solid.points - move]
    arrow = force_arrow(scene, things.cutter.nose, sample=sample)
    if arrow is not None:
        bodies += [arrow + way * ride.of(arrow) for way in (1, -1)]
    if "holder" in scene.mesh.regions:
        bodies.append(scene.mesh.points)
    points = np.concatenate(bodies)
    points[:, 0] = np.maximum(points[:, 0], -_GRIPPED_SHOWN * float(sample[:, 0].max()))
    return points


def _near(work: Workpiece | None, nose: FloatArray, *, reach: float) -> list[FloatArray]:
    """Return the points of the work that the frame holds; of a part in its holding no more than a reach."""
    points = [] if work is None else [one.solid.points for one in work.props]
    if work is None or work.frame is None:
        return points
    return [np.clip(one, nose - reach, nose + reach) for one in points]


def _breadth(sample: FloatArray) -> float:
    """Return how broad a bar is [m]."""
    return float(np.ptp(sample[:, 1:], axis=0).max())


def holder_points(scene: Scene, things: Around) -> FloatArray:
    """Return the corners of the drawn holder [m], shape (n, 3)."""
    bodies = [one.solid.points for one in (*things.behind, *things.before)]
    return np.concatenate(bodies) if bodies else np.asarray(scene.mesh.points)


def framed(
    seen: FloatArray,
    holder: FloatArray,
    *,
    size: tuple[int, int],
    margins: tuple[float, float, float, float],
    axes: FloatArray,
) -> View:
    """Return the view in which a holder that runs out of the frame sideways still keeps off head and foot."""
    view, along = fit_view(seen, size=size, margins=margins, axes=axes), np.array([1.0, 0.0, 0.0])
    for _ in range(4):
        # Where the frame's side cuts each line of the holder that runs along x.
        pixels = view.pixels(holder)
        run = view.pixels(holder + along)[:, 0] - pixels[:, 0]
        edge = np.where(pixels[:, 0] < 0, 0.0, np.where(pixels[:, 0] > size[0], float(size[0]), pixels[:, 0]))
        cut = holder + np.outer((edge - pixels[:, 0]) / run, along)
        view = fit_view(seen, size=size, margins=margins, axes=axes, tall=cut)
    return view


def margins_for(size: tuple[int, int], lines: int) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom borders kept for words [pixel]."""
    unit = size[1] / 720
    return 36 * unit, (156 + 32 * lines) * unit, 36 * unit, 84 * unit
