"""The part as [work] gives it, beside the edge: its steps, and what holds it: chuck, centres, steadies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.cli.show.scene.props import Prop, prism, revolved
from stickout.fem.beam.work_holding import FULL_JAW_MM
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# Sizes of what holds it, in its greatest diameters: chosen to read well.
_JAW: Final = (0.35, 0.3)
_BODY: Final = (0.55, 0.6)
_CENTRE: Final = ((0.0, 0.08), (0.45, 0.35), (0.9, 0.35))
_FINGER: Final = (0.5, 0.09)
_JAWS: Final = 3
_SAME: Final = 1e-6
_RINGS: Final = 13


@dataclass(frozen=True)
class PartFrame:
    """Where a part lies: headstock's face on its axis [m], unit vectors along it and outward to the edge."""

    root: FloatArray
    along: FloatArray
    edge: FloatArray

    @property
    def across(self) -> FloatArray:
        """Return the unit vector across both."""
        return np.asarray(np.cross(self.along, self.edge))

    def place(self, s: float) -> FloatArray:
        """Return a place of the axis, ``s`` [m] from the headstock."""
        return self.root + s * self.along

    def spoke(self, turn: float) -> FloatArray:
        """Return the unit vector outward at an angle from the edge [rad]."""
        return np.asarray(np.cos(turn) * self.edge + np.sin(turn) * self.across)


def part_frame(work: Work, nose: FloatArray, *, way: float) -> PartFrame:
    """Return where a part that is cut outside lies so that the nose stands on its surface at the cut.

    Parameters
    ----------
    work
        The part.
    nose
        Where the nose is drawn [m], shape (3,).
    way
        +1 where the headstock lies toward +y, else -1.
    """
    along, edge = np.array([0.0, -way, 0.0]), np.array([-1.0, 0.0, 0.0])
    radius = 0.5 * _size_at(work, work.cut_at_mm) * MM
    return PartFrame(nose - radius * edge - work.cut_at_mm * MM * along, along, edge)


def held_part(
    work: Work, frame: PartFrame, *, depth: tuple[float, float], toward: FloatArray, shown: float = np.inf
) -> tuple[Prop, ...]:
    """Return the part as thick as given where it is cut, thicker by the depth where it is not yet.

    Parameters
    ----------
    work
        The part.
    frame
        Where it lies.
    depth
        What is left to cut on the headstock's side and on the tailstock's [m].
    toward
        Unit vector to the viewer, shape (3,).
    shown
        How much of it is drawn beyond the cut [m].
    """
    out, last = [], min(work.length_mm, work.cut_at_mm + shown / MM)
    for start, stop, size, bore in _pieces(work, last):
        before = stop <= work.cut_at_mm + _SAME
        radius = 0.5 * size * MM + (depth[0] if before else depth[1])
        # A whole part is drawn to bend: it has rings between.
        rings = 2 if shown < np.inf else _RINGS
        ends = np.array([frame.place(one * MM) for one in np.linspace(start, stop, rings)])
        radii = np.full(len(ends), radius)
        if bore:  # out and back: the bore's wall ends just before it began, so that the axis has a way
            ends = np.array([*ends, *ends[:0:-1], ends[0] + _SAME * frame.along])
            radii = np.concatenate([radii, np.full(len(radii), 0.5 * bore * MM)])
        out.append(revolved(ends, radii, colour="work", toward=toward, closed=not bore))
    return tuple(out)


def holding(work: Work, frame: PartFrame, *, toward: FloatArray, shown: float = np.inf) -> tuple[Prop, ...]:
    """Return what holds the part: chuck with three jaws or a centre, tailstock's centre, steadies.

    Parameters
    ----------
    work
        The part.
    frame
        Where it lies.
    toward
        Unit vector to the viewer, shape (3,).
    shown
        How far beyond the cut it is drawn [m].
    """
    last, size = work.cut_at_mm + shown / MM, max(one[2] for one in sections(work)) * MM
    out: list[Prop] = []
    if work.held == "between centres":
        out.append(_centre(frame, 0.0, size, way=-1.0, toward=toward))
    else:
        out += _chuck(work, frame, size, toward=toward)
    if work.held != "chuck" and work.length_mm <= last:
        out.append(_centre(frame, work.length_mm * MM, size, way=1.0, toward=toward))
    for one in work.steadies:
        if one.at_mm > last:
            continue
        at, radius = one.at_mm * MM, 0.5 * _size_at(work, one.at_mm) * MM
        half = _FINGER[1] * size
        out += _spokes(
            frame, (at - half, at + half), out=(radius, radius + _FINGER[0] * size), half=half, toward=toward
        )
    return tuple(out)


def _chuck(work: Work, frame: PartFrame, size: float, *, toward: FloatArray) -> Iterator[Prop]:
    """Yield jaws, what they grip of the part, and the chuck's body."""
    radius, jaw = 0.5 * sections(work)[0][2] * MM, (work.jaw_length_mm or FULL_JAW_MM) * MM
    ends = np.array([frame.place(-jaw), frame.place(0.0)])
    yield revolved(ends, np.full(2, radius), colour="work", toward=toward)
    yield from _spokes(
        frame, (-jaw, 0.0), out=(radius, radius + _JAW[0] * size), half=0.5 * _JAW[1] * size, toward=toward
    )
    body = np.array([frame.place(-jaw - _BODY[1] * size), frame.place(-jaw)])
    yield revolved(body, np.full(2, radius + _BODY[0] * size), colour="holder", toward=toward)


def _spokes(
    frame: PartFrame,
    along: tuple[float, float],
    *,
    out: tuple[float, float],
    half: float,
    toward: FloatArray,
) -> Iterator[Prop]:
    """Yield three blocks round the part, the first opposite the edge: jaws, or fingers of a steady."""
    for number in range(_JAWS):
        turn = np.pi + 2 * np.pi * number / _JAWS
        up, aside = frame.spoke(turn), half * frame.spoke(turn + np.pi / 2)
        low, high = (frame.place(along[0]) + one * up for one in out)
        floor = np.array([low - aside, low + aside, high + aside, high - aside])
        yield prism(floor, (along[1] - along[0]) * frame.along, colour="holder", toward=toward)


def _centre(frame: PartFrame, at: float, size: float, *, way: float, toward: FloatArray) -> Prop:
    """Return a centre whose tip stands in the part's end."""
    rows = np.array(_CENTRE) * size
    path = np.array([frame.place(at + way * one) for one in rows[:, 0]])
    order = slice(None) if way > 0 else slice(None, None, -1)
    return revolved(path[order], rows[order, 1], colour="holder", toward=toward)


def _pieces(work: Work, last: float) -> Iterator[tuple[float, float, float, float]]:
    """Yield the part's pieces up to a place, parted where it is cut [mm]."""
    for start, end, size, bore in sections(work):
        stop = min(end, last)
        if stop <= start:
            return
        if start + _SAME < work.cut_at_mm < stop - _SAME:
            yield start, work.cut_at_mm, size, bore
            yield work.cut_at_mm, stop, size, bore
        else:
            yield start, stop, size, bore


def _size_at(work: Work, at_mm: float) -> float:
    """Return the diameter of the part at a place [mm]."""
    return next(size for start, stop, size, _ in sections(work) if start <= at_mm <= stop)
