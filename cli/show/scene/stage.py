"""A scene turned into bodies and lines at one instant of its loop, the same for every renderer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.scene import Scene, bar_surface, check_scene, drawn_movement, edge_movement
from stickout.cli.show.scene.signs import Label, edge_signs, holder_bodies, holder_label
from stickout.cli.show.scene.solids import Solid, Strokes, join, moved
from stickout.cli.show.scene.surface import (
    OuterSurface,
    along_lines,
    edge_segments,
    feature_edges,
    level_lines,
    outer_surface,
)
from stickout.cli.show.scene.view import View, camera_axes, fit_view
from stickout.meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class Stage:
    """Everything that is drawn, at rest, and how it moves.

    Attributes
    ----------
    view
        The camera.
    skin
        Skin of the bar.
    triangles
        The triangles of the skin that are drawn, shape (m, 3).
    points, moves
        Node positions and movement at full swing [m], shape (n_points, 3).
    values
        Relative movement at each sample of the skin, 0 to 1.
    edges
        Sharp edges of the skin that face the viewer, shape (n_edges, 3).
    behind, before
        Bodies drawn before the bar and after it.
    holder_skin
        Skin of a meshed holder; None when the holder is a drawn block.
    riders
        Bodies that ride on the edge, at rest.
    marks
        Bodies that stand still in front of all.
    edge_move
        Movement of the edge at full swing [m], shape (3,).
    labels
        Words beside things.
    """

    view: View
    skin: OuterSurface
    triangles: IntArray
    points: FloatArray
    moves: FloatArray
    values: FloatArray
    edges: IntArray
    behind: tuple[Solid, ...]
    before: tuple[Solid, ...]
    holder_skin: OuterSurface | None
    riders: tuple[Solid, ...]
    marks: tuple[Solid, ...]
    edge_move: FloatArray
    labels: tuple[Label, ...]


@dataclass(frozen=True)
class Instant:
    """One instant: bodies and lines in the order a painter would lay them, far to near."""

    solids: tuple[Solid, ...]
    rest: Strokes
    lines: tuple[Strokes, ...]
    n_behind: int


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
    behind, before = holder_bodies(scene, sample)
    edge_move = edge_movement(mesh, moves)
    riders, marks, labels = edge_signs(scene, sample, swings=swings, edge_move=edge_move)
    bodies = [sample, sample + swings, sample - swings]
    bodies += [body.points for body in (*behind, *before, *riders, *marks)]
    bodies += [body.points + way * edge_move for body in riders for way in (1, -1)]
    if meshed:
        bodies.append(mesh.points)
    return Stage(
        view=fit_view(np.concatenate(bodies), size=size, margins=_margins(size, 2 + len(scene.lines))),
        skin=skin,
        triangles=_shown(skin, sample, hide=meshed),
        points=mesh.points,
        moves=moves,
        values=amount / amount.max(),
        edges=_facing_edges(skin, mesh.points),
        behind=behind,
        before=before,
        holder_skin=outer_surface(mesh, ["holder"], subdivision=subdivision) if meshed else None,
        riders=riders,
        marks=marks,
        edge_move=edge_move,
        labels=(holder_label(scene, behind=behind, before=before), *labels),
    )


def _facing_edges(skin: OuterSurface, points: FloatArray) -> IntArray:
    """Return the sharp edges of which at least one facet faces the viewer, shape (n_edges, 3)."""
    nodes, normals = feature_edges(skin, points)
    return np.asarray(nodes[(normals @ camera_axes()[2]).max(axis=1) > 0])


def _margins(size: tuple[int, int], lines: int) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom borders kept for words and the colour bar [pixel]."""
    unit = size[1] / 540
    return 28 * unit, (82 + 23 * lines) * unit, 165 * unit, 76 * unit


def _shown(skin: OuterSurface, sample: FloatArray, *, hide: bool) -> IntArray:
    """Return the triangles of the bar that are drawn: without those a meshed holder covers, if ``hide``."""
    if not hide:
        return skin.triangles
    return np.asarray(skin.triangles[sample[skin.triangles, 0].max(axis=1) > 0])


def at_instant(stage: Stage, swing: float) -> Instant:
    """Return what is drawn when the bar stands at ``swing`` (-1 to 1) of its full movement."""
    points = stage.points + swing * stage.moves
    sample, normals = stage.skin.sample(points), stage.skin.normals(points)
    bar = Solid(sample, normals, stage.triangles, "line", stage.values)
    behind = list(stage.behind)
    if stage.holder_skin is not None:
        skin = stage.holder_skin
        behind.append(Solid(skin.sample(points), skin.normals(points), skin.triangles, "holder"))
    # Nearer to the viewer without leaving its pixels: the bar can never swallow an arrow.
    lift = stage.view.toward * np.ptp(stage.points, axis=0).max()
    ride = swing * stage.edge_move + lift
    riders = [moved(body, ride) for body in stage.riders]
    marks = [moved(body, lift) for body in stage.marks]
    return Instant(
        solids=(*behind, bar, *stage.before, *marks, join(riders)),
        rest=_rest_lines(stage),
        lines=_bar_lines(stage, points, sample, normals),
        n_behind=len(behind),
    )


def _rest_lines(stage: Stage) -> Strokes:
    """Return the outline of the bar at rest."""
    sample = stage.skin.sample(stage.points)
    normals = stage.skin.normals(stage.points)
    lines = [edge_segments(stage.edges, stage.points), _silhouette(stage, sample, normals)]
    segments = np.concatenate(lines)
    return Strokes(segments[segments[:, :, 0].min(axis=1) > -1e-9], "rest", 1.6)


def _silhouette(stage: Stage, sample: FloatArray, normals: FloatArray) -> FloatArray:
    """Return where the skin turns away from the viewer, shape (n, 2, 3)."""
    pairs, share = level_lines(stage.triangles, normals @ stage.view.toward + 1e-4)
    return along_lines((pairs, share), sample)


def _bar_lines(
    stage: Stage, points: FloatArray, sample: FloatArray, normals: FloatArray
) -> tuple[Strokes, ...]:
    """Return outline and scribed lines of the moving bar, lifted a little off its skin."""
    lift = stage.view.toward * 0.007 * float(stage.points[:, 0].max())
    outline = np.concatenate([edge_segments(stage.edges, points), _silhouette(stage, sample, normals)])
    rest = stage.skin.sample(stage.points)
    scribed = []
    for axis in (1, 2):
        # Off the middle by a hair, so that no sample lies exactly on the line.
        level = rest[:, axis] - 1.3e-4 * float(np.ptp(rest[:, axis]))
        pairs, share = level_lines(stage.triangles, level)
        facing = (
            np.einsum("nek,k->ne", along_lines((pairs, share), normals), stage.view.toward).min(axis=1) > 0
        )
        scribed.append(along_lines((pairs[facing], share[facing]), sample))
    return (
        Strokes(np.concatenate(scribed) + lift, "scribe", 0.8),
        Strokes(outline + lift, "line", 1.3),
    )
