"""The work as a ghost beside the edge: the ring of a bore cut open, or the disc that is turned."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.cutter import directions_of
from stickout.cli.show.scene.held_work import PartFrame, held_part, holding, part_frame
from stickout.cli.show.scene.props import Prop, revolved
from stickout.cli.show.scene.solids import flat_solid
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

_STEPS = 48
_BESIDE = 4 * MM


@dataclass(frozen=True)
class Workpiece:
    """The work.

    Attributes
    ----------
    props
        Bodies with outlines.
    dashed
        Outline that is only hinted at [m], shape (n, 2, 3).
    home
        A point on it for its name [m], shape (3,).
    known
        Whether the file gives its diameter.
    frame
        Where a part lies that the set-up describes; None for what is only hinted at.
    """

    props: tuple[Prop, ...]
    dashed: FloatArray
    home: FloatArray
    known: bool
    frame: PartFrame | None = None


def drawn_work(
    setup: Setup, nose: FloatArray, *, toward: FloatArray, whole: bool = False
) -> Workpiece | None:
    """Return the work at the drawn nose; None where the set-up names no operation.

    Parameters
    ----------
    setup
        The set-up.
    nose
        Where the nose is drawn [m], shape (3,).
    toward
        Unit vector to the viewer, shape (3,).
    whole
        Whether a part that the set-up describes is drawn to its tailstock's end; else it ends beside the cut,
        so that it leaves the tool free.
    """
    ways, cut = directions_of(setup), setup.cut
    if ways is None or cut is None:
        return None
    size = setup.bar.size_mm * MM
    given = cut.work_diameter_mm
    radius = 1.5 * size if given is None else 0.5 * given * MM
    radius = min(radius, 4.0 * size)  # a great wheel would leave no room for the tool
    if cut.operation == "boring":
        return _bore(setup, nose, radius, side=float(np.sign(ways.passive[1])), known=given is not None)
    if setup.work is not None:
        return _held(setup, setup.work, nose, toward=toward, shown=np.inf if whole else _BESIDE)
    return _disc(setup, nose, radius, way=_axis_way(setup), toward=toward, known=given is not None)


def _held(setup: Setup, work: Work, nose: FloatArray, *, toward: FloatArray, shown: float) -> Workpiece:
    """Return the part that the set-up describes, in its holding."""
    cut = setup.cut
    depth = 0.0 if cut is None or cut.operation == "facing" else (cut.depth_mm or 0.0) * MM
    back = cut is not None and cut.side == "tailstock"
    frame = part_frame(work, nose, way=_headstock_way(setup))
    left = (0.0, depth) if back else (depth, 0.0)
    props = held_part(work, frame, depth=left, toward=toward, shown=shown)
    radius = float(np.linalg.norm(nose - frame.place(work.cut_at_mm * MM)))
    home = nose + 0.5 * min(shown, (work.length_mm - work.cut_at_mm) * MM) * frame.along
    return Workpiece(
        (*props, *holding(work, frame, toward=toward, shown=shown)),
        np.empty((0, 2, 3)),
        home + np.array([0.55 * radius, 0.0, -0.35 * radius]),
        True,
        frame,
    )


def _headstock_way(setup: Setup) -> float:
    """Return +1 where the headstock lies toward +y, else -1."""
    ways, cut = directions_of(setup), setup.cut
    if ways is not None and cut is not None and cut.operation == "facing":
        return float(np.sign(ways.passive[1])) or 1.0
    return -1.0 if cut is not None and cut.rear_tool else 1.0


def _axis_way(setup: Setup) -> float:
    """Return +1 where the uncut side of a turned work lies toward +y, else -1."""
    ways = directions_of(setup)
    if ways is None:
        return 1.0
    lateral = ways.passive if setup.cut is not None and setup.cut.operation == "facing" else ways.feed
    return float(np.sign(lateral[1])) or 1.0


def _bore(setup: Setup, nose: FloatArray, radius: float, *, side: float, known: bool) -> Workpiece:
    """Return the lower half of a ring whose rim the nose meets."""
    end = setup.bar.overhang_mm * MM
    back = 0.2 if setup.grip.at_both_ends else 0.4
    x = (nose[0] - back * end if setup.grip.at_both_ends else end - back * end, nose[0] + 0.03 * end)
    axis = np.array([nose[1] - side * radius, nose[2]])
    outer = 1.16 * radius
    turn = np.linspace(np.pi, 2 * np.pi, _STEPS + 1)
    spoke = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    rings = [
        [np.column_stack([np.full(len(turn), at), axis + size * spoke]) for size in (radius, outer)]
        for at in x
    ]
    (in0, out0), (in1, out1) = rings
    faces = [
        _strip(in1, in0),
        _strip(out0, out1),
        _strip(in0, out0),
        _strip(out1, in1),
        np.array([[in0[0], out0[0], out1[0], in1[0]], [out0[-1], in0[-1], in1[-1], out1[-1]]]),
    ]
    body = flat_solid(np.concatenate(faces), "work")
    lines = [_path(one) for one in (in0, in1, out1)]
    lines += [
        np.array([[a[at], b[at]]])
        for at in (0, -1)
        for a, b in ((in0, in1), (out0, out1), (in1, out1), (in0, out0))
    ]
    mouth = np.linspace(0, np.pi, _STEPS + 1)
    upper = axis + radius * np.stack([np.cos(mouth), np.sin(mouth)], axis=1)
    dashed = _path(np.column_stack([np.full(len(mouth), x[0]), upper]))
    home = np.array([0.6 * x[0] + 0.4 * x[1], axis[0] + 0.77 * side * outer, axis[1] - 0.64 * outer])
    return Workpiece((Prop(body, np.concatenate(lines)),), dashed, home, known)


def _disc(
    setup: Setup, nose: FloatArray, radius: float, *, way: float, toward: FloatArray, known: bool
) -> Workpiece:
    """Return the turned disc: fresh surface up to the nose, shoulder of the true depth beyond it."""
    cut, size = setup.cut, setup.bar.size_mm * MM
    depth = (cut.depth_mm or 0.0) * MM if cut is not None else 0.0
    facing = cut is not None and cut.operation == "facing"
    middle = np.array([nose[0] + radius, nose[1], nose[2]])
    along = np.array([0.0, way, 0.0])
    if facing:
        props: tuple[Prop, ...] = (_wheel(middle, 0.9 * size * along, radius, toward),)
    else:
        fresh = _wheel(middle - 4 * MM * along, 4 * MM * along, radius, toward)
        props = (_wheel(middle, 0.9 * size * along, radius + depth, toward), fresh)
    home = middle + (0.0 if facing else -4 * MM) * along - np.array([0.45 * radius, 0.0, 0.35 * radius])
    return Workpiece(props, np.empty((0, 2, 3)), home, known)


def _wheel(start: FloatArray, along: FloatArray, radius: float, toward: FloatArray) -> Prop:
    """Return a disc from ``start``, ``along`` its axis."""
    return revolved(np.array([start, start + along]), np.full(2, radius), colour="work", toward=toward)


def _strip(one: FloatArray, two: FloatArray) -> FloatArray:
    """Return the quadrilaterals between two rows of points (n, 3), shape (n - 1, 4, 3)."""
    return np.stack([one[:-1], one[1:], two[1:], two[:-1]], axis=1)


def _path(points: FloatArray) -> FloatArray:
    """Return a row of points as pieces, shape (n - 1, 2, 3)."""
    return np.stack([points[:-1], points[1:]], axis=1)
