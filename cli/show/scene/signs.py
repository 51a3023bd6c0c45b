"""What stands round the bar in a picture: the drawn holder, the arrows, the dot at the edge, their words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.holder import cut_block, plain_block
from stickout.cli.show.scene.scene import Scene
from stickout.cli.show.scene.solids import Solid, arrow, ball, twist_arrow
from stickout.cli.show.scene.view import camera_axes
from stickout.meshes.tagged import FloatArray


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


def holder_label(scene: Scene, *, behind: tuple[Solid, ...], before: tuple[Solid, ...]) -> Label:
    """Return the holder's name, on the face that has room for it: the top of a cut block, else the front."""
    mesh = scene.mesh
    if "holder" in mesh.regions:
        box = mesh.points[np.unique(mesh.cells[mesh.regions["holder"]])]
    else:
        box = (before or behind)[0].points
    low, high = box.min(axis=0), box.max(axis=0)
    home = (low + high) / 2
    home[1:] = (home[1], high[2]) if before else (low[1], home[2])
    return Label("HOLDER", home, "words", "on")


def holder_bodies(scene: Scene, sample: FloatArray) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
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


def edge_signs(
    scene: Scene, sample: FloatArray, *, swings: FloatArray, edge_move: FloatArray
) -> tuple[tuple[Solid, ...], tuple[Solid, ...], list[Label]]:
    """Return the bodies that ride on the edge, those that stand still, and their words."""
    edge = scene.mesh.edge
    overhang = float(sample[:, 0].max())
    tip = sample[sample[:, 0] > 0.98 * overhang][:, 1:]
    across = float(np.ptp(tip, axis=0).max())
    reach = float(np.clip(1.5 * across, 0.2 * overhang, 0.45 * overhang))
    thin = 0.035 * reach
    riders = [ball(edge, 1.5 * thin, colour="edge")]
    labels = [_edge_label(scene, sample, swings)]
    clear = 0.5 * across + 0.35 * reach
    if scene.force is not None:
        push = np.asarray(scene.force, dtype=float) / np.linalg.norm(scene.force)
        tail = edge - reach * push
        riders.append(arrow(tail, edge, thickness=thin, colour="force"))
        side = "above" if camera_axes()[1] @ push < 0 else "below"
        labels.append(Label("cutting force", tail, "force", side, rides=True))
        clear += 1.4 * reach * max(0.0, -float(push[0]))
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
        return (twist_arrow(home, 0.6 * across, thickness=thin, colour="moves"),)
    size = float(np.linalg.norm(edge_move))
    if size < 0.05 * largest:
        return ()
    way = edge_move / size
    half = max(size, 0.6 * across)
    middle = home + np.array([half * abs(way[0]), 0.0, 0.0])
    return (arrow(middle - half * way, middle + half * way, thickness=thin, colour="moves", both=True),)
