"""A scene turned into bodies and lines at one instant of its loop, the same for every renderer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cli.show.holder import cut_block, plain_block
from cli.show.scene import Scene, bar_surface, check_scene, drawn_movement, edge_movement
from cli.show.solids import Solid, Strokes, arrow, ball, join, moved, twist_arrow
from cli.show.surface import (
    OuterSurface,
    along_lines,
    edge_segments,
    feature_edges,
    level_lines,
    outer_surface,
)
from cli.show.view import View, camera_axes, fit_view
from meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class Label:
    """A word on the picture.

    Attributes
    ----------
    text
        The word.
    place
        The point it belongs to, at rest [m], shape (3,).
    colour
        Key of ``scene.COLOURS``.
    side
        Where it stands: ``on``, ``above`` or ``below`` the place.
    rides
        Whether it moves with the edge.
    leader
        A point that rides on the edge and is joined to the word by a thin line [m], shape (3,); or None.
    """

    text: str
    place: FloatArray
    colour: str
    side: str
    rides: bool = False
    leader: FloatArray | None = None


@dataclass(frozen=True)
class Stage:
    """Everything that is drawn, at rest, and how it moves.

    Attributes
    ----------
    view
        The camera.
    skin
        Skin of the bar; ``triangles`` are the ones drawn of it, shape (m, 3).
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
    behind, before = _holder_bodies(scene, sample)
    edge_move = edge_movement(mesh, moves)
    riders, marks, labels = _signs(scene, sample, swings, edge_move)
    label_home = _label_home(scene, behind, before)
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
        labels=(Label("HOLDER", label_home, "words", "on"), *labels),
    )


def _facing_edges(skin: OuterSurface, points: FloatArray) -> IntArray:
    """Return the sharp edges of which at least one facet faces the viewer, shape (n_edges, 3)."""
    nodes, normals = feature_edges(skin, points)
    return np.asarray(nodes[(normals @ camera_axes()[2]).max(axis=1) > 0])


def _margins(size: tuple[int, int], lines: int) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom borders kept for words and the colour bar [pixel]."""
    unit = size[1] / 540
    return 28 * unit, (82 + 23 * lines) * unit, 165 * unit, 76 * unit


def _label_home(scene: Scene, behind: tuple[Solid, ...], before: tuple[Solid, ...]) -> FloatArray:
    """Return the middle of the holder's face that has room for its name [m], shape (3,)."""
    mesh = scene.mesh
    if "holder" in mesh.regions:
        box = mesh.points[np.unique(mesh.cells[mesh.regions["holder"]])]
    else:
        box = (before or behind)[0].points
    low, high = box.min(axis=0), box.max(axis=0)
    middle = (low + high) / 2
    if behind and not before:
        return np.array([middle[0], low[1], middle[2]])
    return np.array([middle[0], middle[1], high[2]])


def _shown(skin: OuterSurface, sample: FloatArray, *, hide: bool) -> IntArray:
    """Return the triangles of the bar that are drawn: without those a meshed holder covers, if ``hide``."""
    if not hide:
        return skin.triangles
    return np.asarray(skin.triangles[sample[skin.triangles, 0].max(axis=1) > 0])


def _holder_bodies(scene: Scene, sample: FloatArray) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
    """Return the drawn holder, the part behind the bar and the part before it; empty when it is meshed."""
    if "holder" in scene.mesh.regions:
        return (), ()
    overhang = float(sample[:, 0].max())
    start = float(sample[:, 0].min())
    if start < -1e-6 * overhang:
        gripped = sample[sample[:, 0] < 1e-9 * overhang][:, 1:]
        margin = 0.75 * float(np.ptp(gripped, axis=0).max()) / 2
        return cut_block(gripped, start=start, margin=margin)
    root = sample[sample[:, 0] < 1e-6 * overhang][:, 1:]
    half = np.full(2, 1.8 * float(np.abs(root).max()))
    return (plain_block(half, min(0.4 * overhang, 2.4 * half[0])),), ()


def _signs(
    scene: Scene, sample: FloatArray, swings: FloatArray, edge_move: FloatArray
) -> tuple[tuple[Solid, ...], tuple[Solid, ...], list[Label]]:
    """Return the bodies that ride on the edge, those that stand still, and their words."""
    edge = scene.mesh.edge
    overhang = float(sample[:, 0].max())
    tip = sample[sample[:, 0] > 0.98 * overhang][:, 1:]
    across = float(np.ptp(tip, axis=0).max())
    reach = float(np.clip(1.5 * across, 0.2 * overhang, 0.45 * overhang))
    thin = 0.035 * reach
    riders = [ball(edge, 1.5 * thin, "edge")]
    labels = [_edge_label(scene, sample, swings)]
    clear = 0.5 * across + 0.35 * reach
    if scene.force is not None:
        push = np.asarray(scene.force, dtype=float) / np.linalg.norm(scene.force)
        tail = edge - reach * push
        riders.append(arrow(tail, edge, thin, "force"))
        side = "above" if camera_axes()[1] @ push < 0 else "below"
        labels.append(Label("cutting force", tail, "force", side, rides=True))
        clear += reach * max(0.0, -float(push[0]))
    largest = float(np.linalg.norm(swings, axis=1).max())
    home = np.array([edge[0] + clear, edge[1], edge[2]])
    marks = _motion_mark(scene, home, edge_move, largest, across, thin)
    if marks:
        box = marks[0].points
        low = box[np.argmin(box @ camera_axes()[1])]
        labels.append(Label("moves", low, "moves", "below"))
    return tuple(riders), marks, labels


def _edge_label(scene: Scene, sample: FloatArray, reach: FloatArray) -> Label:
    """Return the word for the edge: below the lowest place the tip reaches, joined to the edge by a line."""
    up = camera_axes()[1]
    edge = scene.mesh.edge
    tip = sample[:, 0] > 0.98 * sample[:, 0].max()
    heights = (sample[tip] - edge) @ up - np.abs(reach[tip] @ up)
    return Label("cutting edge", edge + up * heights.min(), "edge", "below", leader=edge)


def _motion_mark(
    scene: Scene, home: FloatArray, edge_move: FloatArray, largest: float, across: float, thin: float
) -> tuple[Solid, ...]:
    """Return the arrow with two heads that says which way the edge moves; none where it hardly does."""
    if scene.kind == "torsion":
        return (twist_arrow(home, 0.6 * across, thin, "moves"),)
    size = float(np.linalg.norm(edge_move))
    if size < 0.05 * largest:
        return ()
    way = edge_move / size
    half = max(size, 0.6 * across)
    middle = home + np.array([half * abs(way[0]), 0.0, 0.0])
    return (arrow(middle - half * way, middle + half * way, thin, "moves", both=True),)


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
    return along_lines(pairs, share, sample)


def _bar_lines(
    stage: Stage, points: FloatArray, sample: FloatArray, normals: FloatArray
) -> tuple[Strokes, ...]:
    """Return outline and scribed lines of the moving bar, lifted a little off its skin."""
    lift = stage.view.toward * 0.004 * float(stage.points[:, 0].max())
    outline = np.concatenate([edge_segments(stage.edges, points), _silhouette(stage, sample, normals)])
    rest = stage.skin.sample(stage.points)
    scribed = []
    for axis in (1, 2):
        # Off the middle by a hair, so that no sample lies exactly on the line.
        level = rest[:, axis] - 1.3e-4 * float(np.ptp(rest[:, axis]))
        pairs, share = level_lines(stage.triangles, level)
        facing = np.einsum("nek,k->ne", along_lines(pairs, share, normals), stage.view.toward).min(axis=1) > 0
        scribed.append(along_lines(pairs[facing], share[facing], sample))
    return (
        Strokes(np.concatenate(scribed) + lift, "scribe", 0.8),
        Strokes(outline + lift, "line", 1.3),
    )
