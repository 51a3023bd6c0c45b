"""A scene turned into bodies and lines: what stands still, and what moves at one instant of the loop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.around import Around, around
from stickout.cli.show.scene.coil import drawn_coil, skin_moves
from stickout.cli.show.scene.framing import (
    axes_that_fill,
    elevation_of,
    framed,
    holder_points,
    margins_for,
    must_be_seen,
    near_side,
)
from stickout.cli.show.scene.props import Prop
from stickout.cli.show.scene.scene import Ride, Scene, bar_surface, check_scene, drawn_movement, face_ride
from stickout.cli.show.scene.signs import Label, coil_paint, force_arrow, labels_of, region_paints
from stickout.cli.show.scene.solids import Drawn, Solid, Strokes
from stickout.cli.show.scene.surface import (
    OuterSurface,
    along_lines,
    edge_segments,
    feature_edges,
    level_lines,
    outer_surface,
)
from stickout.cli.show.scene.view import View, camera_axes
from stickout.meshes.tagged import FloatArray, IntArray

_LIFT = 0.004  # of the overhang: outlines that lie in faces flicker
_PROP_LINE, _GHOST_LINE = 1.3, 2.0  # line widths, pixel of a picture 720 high


@dataclass(frozen=True)
class Stage:
    """Everything that is drawn, at rest, and how it moves.

    Attributes
    ----------
    view
        The camera.
    skin
        Skin of the bar, with shim and wrap.
    triangles
        The triangles of the skin that are drawn, shape (m, 3).
    painted
        Colour of each of them, an index into ``paints``; -1 where it is coloured by movement, shape (m,).
    paints
        Keys of ``scene.COLOURS``.
    points, moves
        Node positions and movement at full swing [m], shape (n_points, 3).
    values
        Relative movement at each sample of the skin, 0 to 1.
    edges
        Sharp edges of the skin that face the viewer, shape (n_edges, 3).
    around
        What stands round the bar.
    holder_skin
        Skin of a meshed holder; None when the holder is a drawn block.
    ride
        How cutter and arrow move with the end face.
    arrow
        Tail and head of the force's arrow at rest [m], shape (2, 3); None for none.
    labels
        Words beside things.
    coil, coil_moves
        The wire of a loose wrap at rest, and its movement at full swing [m]; None and empty without one.
    """

    view: View
    skin: OuterSurface
    triangles: IntArray
    painted: IntArray
    paints: tuple[str, ...]
    points: FloatArray
    moves: FloatArray
    values: FloatArray
    edges: IntArray
    around: Around
    holder_skin: OuterSurface | None
    ride: Ride
    arrow: FloatArray | None
    labels: tuple[Label, ...]
    coil: Prop | None
    coil_moves: FloatArray

    @property
    def edge_move(self) -> FloatArray:
        """Return the movement of the drawn nose at full swing [m], shape (3,)."""
        return self.ride.of(self.around.cutter.nose)


def build_stage(scene: Scene, size: tuple[int, int], *, subdivision: int = 3) -> Stage:
    """Return the stage of a scene.

    Parameters
    ----------
    scene
        What is shown.
    size
        Width and height of the picture [pixel].
    subdivision
        Pieces per facet side, 1 or above.

    Returns
    -------
    Stage

    Raises
    ------
    InputError
        The scene cannot be drawn (see ``check_scene``).
    """
    check_scene(scene)
    mesh = scene.mesh
    skin = bar_surface(scene, subdivision=subdivision)
    moves = drawn_movement(scene, skin)
    meshed = "holder" in mesh.regions
    sample = skin.sample(mesh.points)
    swings = skin.sample(moves)
    amount = np.linalg.norm(swings, axis=1)
    ride, side = face_ride(mesh, moves), near_side(scene)
    height = elevation_of(ride.of(np.asarray(mesh.edge)))
    first = camera_axes(side=side, elevation_deg=height)[2]
    seen = must_be_seen(
        scene, sample, swings=swings, things=around(scene, sample, side=side, toward=first), ride=ride
    )
    left, top, right, bottom = margins_for(size, len(scene.lines))
    room = (size[0] - left - right, size[1] - top - bottom)
    axes = axes_that_fill(seen, side=side, elevation_deg=height, room=room)
    things = around(scene, sample, side=side, toward=axes[2])
    shown = _shown(skin, sample, hide=meshed)
    paints = region_paints(scene, skin)
    coil = drawn_coil(scene.setup, sample, colour=coil_paint(scene)) if scene.setup is not None else None
    painted = np.array([-1 if one is None else at for at, one in enumerate(paints)], dtype=np.int64)
    return Stage(
        view=framed(
            seen, holder_points(scene, things), size=size, margins=(left, top, right, bottom), axes=axes
        ),
        skin=skin,
        triangles=skin.triangles[shown],
        painted=painted[skin.triangle_region()[shown]],
        paints=tuple(one or "" for one in paints),
        points=mesh.points,
        moves=moves,
        values=amount / amount.max(),
        edges=_facing_edges(skin, mesh.points, axes[2]),
        around=things,
        holder_skin=outer_surface(mesh, ["holder"], subdivision=subdivision) if meshed else None,
        ride=ride,
        arrow=force_arrow(scene, things.cutter.nose, sample=sample),
        labels=tuple(labels_of(scene, sample, around=things, side=side)),
        coil=coil,
        coil_moves=skin_moves(coil.solid.points if coil else np.empty((0, 3)), sample, swings=swings),
    )


def _facing_edges(skin: OuterSurface, points: FloatArray, toward: FloatArray) -> IntArray:
    """Return the sharp edges of which at least one facet faces the viewer, shape (n_edges, 3)."""
    nodes, normals = feature_edges(skin, points)
    return np.asarray(nodes[(normals @ toward).max(axis=1) > 0])


def _shown(skin: OuterSurface, sample: FloatArray, *, hide: bool) -> IntArray:
    """Return which triangles of the bar are drawn: without those a meshed holder covers, if ``hide``."""
    if not hide:
        return np.arange(len(skin.triangles))
    return np.flatnonzero(sample[skin.triangles, 0].max(axis=1) > 0)


def at_rest(stage: Stage) -> Drawn:
    """Return what stands round the bar and does not move."""
    return _props([*stage.around.behind, *stage.around.before], stage)


def half_seen(stage: Stage) -> Drawn:
    """Return what stands still and is laid over all, half seen: the work."""
    work = stage.around.work
    return _props([] if work is None else work.props, stage, colour="work line", width=_GHOST_LINE)


def at_instant(stage: Stage, swing: float) -> Drawn:
    """Return what moves, as it is when the bar stands at ``swing`` (-1 to 1) of its full movement."""
    points = stage.points + swing * stage.moves
    sample, normals = stage.skin.sample(points), stage.skin.normals(points)
    moved = [*_wound(stage, swing), *(_ridden(one, stage.ride, swing) for one in stage.around.cutter.props)]
    if stage.holder_skin is not None:
        skin = stage.holder_skin
        body = Solid(skin.sample(points), skin.normals(points), skin.triangles, "holder")
        edges = edge_segments(_facing_edges(skin, stage.points, stage.view.toward), points)
        moved.append(Prop(body, edges))
    beside = _props(moved, stage)
    return Drawn(
        solids=(*_painted(stage, sample, normals), *beside.solids),
        lines=(_bar_lines(stage, points, sample, normals), *beside.lines),
    )


def _props(props: Sequence[Prop], stage: Stage, *, colour: str = "line", width: float = _PROP_LINE) -> Drawn:
    """Return parts with their outlines a little off their faces, toward the viewer."""
    lift = stage.view.toward * _LIFT * float(stage.points[:, 0].max())
    outlines = tuple(Strokes(one.outline + lift, colour, width) for one in props if len(one.outline))
    return Drawn(tuple(one.solid for one in props), outlines)


def _wound(stage: Stage, swing: float) -> tuple[Prop, ...]:
    """Return the wire of a loose wrap, moved with the skin."""
    if stage.coil is None:
        return ()
    body = stage.coil.solid
    moved = Solid(body.points + swing * stage.coil_moves, body.normals, body.triangles, body.colour)
    return (Prop(moved, stage.coil.outline),)


def _painted(stage: Stage, sample: FloatArray, normals: FloatArray) -> list[Solid]:
    """Return the bar coloured by movement, and shim and wrap in the colours of their metals."""
    parts = []
    for at in np.unique(stage.painted):
        triangles = stage.triangles[stage.painted == at]
        if at < 0:
            parts.append(Solid(sample, normals, triangles, "steel", stage.values))
        else:
            parts.append(Solid(sample, normals, triangles, stage.paints[at]))
    return parts


def _ridden(prop: Prop, ride: Ride, swing: float) -> Prop:
    """Return a part moved with the end face."""
    body = prop.solid
    moved = Solid(body.points + swing * ride.of(body.points), body.normals, body.triangles, body.colour)
    return Prop(moved, prop.outline + swing * ride.of(prop.outline))


def _silhouette(stage: Stage, sample: FloatArray, normals: FloatArray) -> FloatArray:
    """Return where the skin turns away from the viewer, shape (n, 2, 3)."""
    pairs, share = level_lines(stage.triangles, normals @ stage.view.toward + 1e-4)
    return along_lines((pairs, share), sample)


def _bar_lines(stage: Stage, points: FloatArray, sample: FloatArray, normals: FloatArray) -> Strokes:
    """Return the outline of the moving bar, lifted a little off its skin."""
    lift = stage.view.toward * 0.007 * float(stage.points[:, 0].max())
    outline = np.concatenate([edge_segments(stage.edges, points), _silhouette(stage, sample, normals)])
    return Strokes(outline + lift, "line", 2.0)
