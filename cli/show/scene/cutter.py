"""The cutting edge as a set-up gives it: where its nose is drawn, and what carries it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.props import Prop, clipped, pin, prism
from stickout.fem.force.directions import CutDirections, cut_directions
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

_USUAL_ANGLE_DEG = 93.0
_INSERT_DEG, _CUTTER_DEG = 80.0, 60.0


@dataclass(frozen=True)
class Cutter:
    """What carries the edge.

    Attributes
    ----------
    nose
        Where its nose is drawn [m], shape (3,).
    props
        Cutter or insert and its screw; they ride on the end face.
    name
        insert or cutter; empty where none is drawn.
    aside
        Whether the nose is drawn away from the place that was computed, because the file names no offset.
    profile
        Points of the cutter for the view from its end [m], shape (n, 3); None where none is drawn.
    """

    nose: FloatArray
    props: tuple[Prop, ...] = ()
    name: str = ""
    aside: bool = False
    profile: FloatArray | None = None


def directions_of(setup: Setup) -> CutDirections | None:
    """Return the directions of a set-up's cut; None where it names no operation."""
    cut = setup.cut
    if cut is None or cut.operation is None:
        return None
    return cut_directions(cut.operation, cut.side, rear_tool=cut.rear_tool)


def drawn_cutter(setup: Setup, *, computed: FloatArray, toward: FloatArray) -> Cutter:
    """Return the cutter of a set-up.

    Parameters
    ----------
    setup
        The set-up.
    computed
        Where the force acts in the computation [m], shape (3,).
    toward
        Unit vector to the viewer, shape (3,).
    """
    ways, bar = directions_of(setup), setup.bar
    flat = bar.section in ("square", "rectangle")
    if ways is None or (not flat and setup.cut is not None and setup.cut.operation != "boring"):
        return Cutter(np.asarray(computed))
    nose, aside = _nose(setup, ways, np.asarray(computed), flat=flat)
    if setup.bar_material.name == "high speed steel":
        return Cutter(nose, aside=aside)
    angle = setup.cut.edge_angle_deg if setup.cut is not None else None
    main, minor = _edges(ways, np.radians(angle or _USUAL_ANGLE_DEG), flat=flat)
    build, name = (_insert, "insert") if flat else (_bit, "cutter")
    props = build(setup, nose, (main, minor), ways=ways, toward=toward)
    points = props[0].solid.points
    if flat:
        down = np.array([0.0, 0.0, -np.sign(ways.cutting[2]) * 0.26 * (setup.bar.width_mm or 0.0) * MM])
        points = np.concatenate([points, points + down])
    return Cutter(nose, props, name, aside, profile=points)


def _nose(setup: Setup, ways: CutDirections, computed: FloatArray, *, flat: bool) -> tuple[FloatArray, bool]:
    """Return where the nose is drawn, and whether that is away from the computed place."""
    bar, edge = setup.bar, setup.edge
    if edge.offset_y_mm or edge.offset_z_mm:
        return computed, False
    nose = np.array(computed)
    if flat:
        half = 0.5 * (bar.width_mm or 0.0) * MM
        side = ways.passive[1] if abs(ways.passive[1]) > 0.5 else ways.feed[1]
        nose[1] = side * half
        nose[2] = 0.5 * (bar.height_mm or bar.width_mm or 0.0) * MM + 0.25 * MM
        return nose, True
    size, cut = _end_size(setup), setup.cut
    wall = 0.5 * (cut.work_diameter_mm or 0.0) * MM if cut is not None else 0.0
    room = wall - 0.5 * size
    nose[1] = ways.passive[1] * (wall if 0.05 * size < room < 0.4 * size else 0.72 * size)
    return nose, True


def _end_size(setup: Setup) -> float:
    """Return the diameter at the free end [m], with a wrap that reaches it."""
    bar, wrap = setup.bar, setup.wrap
    size = bar.diameter_mm or 0.0
    if wrap is not None and wrap.start_mm + wrap.length_mm > 0.97 * bar.overhang_mm:
        size += 2 * wrap.thickness_mm
    return size * MM


def _edges(ways: CutDirections, angle: float, *, flat: bool) -> tuple[FloatArray, FloatArray]:
    """Return the ways that main and minor cutting edge run from the nose, unit vectors (2,) in plan."""
    p, f = ways.passive[:2], ways.feed[:2]
    if flat:
        minor = max(np.radians(3.0), np.pi - angle - np.radians(_INSERT_DEG))
    else:
        minor = max(np.radians(5.0), np.pi - angle - np.radians(_CUTTER_DEG))
    return (
        np.asarray(np.cos(angle) * f - np.sin(angle) * p),
        np.asarray(-np.cos(minor) * f - np.sin(minor) * p),
    )


def _insert(
    setup: Setup,
    nose: FloatArray,
    edges: tuple[FloatArray, FloatArray],
    *,
    ways: CutDirections,
    toward: FloatArray,
) -> tuple[Prop, ...]:
    """Return a rhombic insert and the dot of its screw."""
    width = (setup.bar.width_mm or 0.0) * MM
    # Only what stands proud of the shank: the rest of its thickness lies in its seat.
    top = 0.5 * (setup.bar.height_mm or setup.bar.width_mm or 0.0) * MM
    side, thick = 0.78 * width, max(abs(nose[2]) - top, 0.1 * MM)
    plan = nose[:2] + side * np.array([0 * edges[0], edges[0], edges[0] + edges[1], edges[1]])
    down = np.array([0.0, 0.0, -np.sign(ways.cutting[2]) * thick])
    body = prism(_flat(plan, nose[2]), down, colour="insert", toward=toward)
    middle = np.array([*plan.mean(axis=0), nose[2]])
    screw = pin(middle, middle - 0.06 * down, radius=0.2 * side, colour="screw", toward=toward)
    return body, screw


def _bit(
    setup: Setup,
    nose: FloatArray,
    edges: tuple[FloatArray, FloatArray],
    *,
    ways: CutDirections,
    toward: FloatArray,
) -> tuple[Prop, ...]:
    """Return the bit in a boring bar's cross hole, ground to its two edges, and the grub screw."""
    size, end = (setup.bar.diameter_mm or 0.0) * MM, setup.bar.overhang_mm * MM
    axis = np.array([min(nose[0], end - 0.62 * size), 0.0])
    run = nose[:2] - axis
    length = float(np.hypot(*run))
    run = run / length
    across = np.array([-run[1], run[0]])
    half = 0.18 * size
    # From inside the bar, where the hole hides its other end, to well past the nose.
    start = min(0.6 * (_end_size(setup) - 0.5 * size), 0.5 * length)
    near, far = start * run, (length + size) * run
    strip = axis + np.array(
        [near - half * across, near + half * across, far + half * across, far - half * across]
    )
    for edge, other in (edges, edges[::-1]):
        normal = np.array([-edge[1], edge[0]])
        strip = clipped(strip, through=nose[:2], normal=normal * np.sign(normal @ other))
    down = np.array([0.0, 0.0, -np.sign(ways.cutting[2]) * 2 * half])
    props = []
    if len(strip) > 2:
        props.append(prism(_flat(strip, nose[2]), down, colour="cutter", toward=toward))
    if setup.grip.at_both_ends:  # its screw is somewhere else than in the centre's hole
        return tuple(props)
    face = np.array([end, 0.0, 0.0])
    out = np.array([1.0, 0.0, 0.0])
    props.append(pin(face, face + 0.004 * size * out, radius=0.19 * size, colour="screw", toward=toward))
    props.append(pin(face, face + 0.008 * size * out, radius=0.10 * size, colour="insert", toward=toward))
    return tuple(props)


def _flat(plan: FloatArray, height: float) -> FloatArray:
    """Return points (n, 2) in plan at one height, shape (n, 3)."""
    return np.column_stack([plan, np.full(len(plan), height)])
