"""What stands round the bar in a picture, from the set-up's keys alone, and what was made up for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.centres import drawn_centres
from stickout.cli.show.scene.cutter import Cutter, drawn_cutter
from stickout.cli.show.scene.holder import cut_block, plain_block
from stickout.cli.show.scene.post import drawn_post
from stickout.cli.show.scene.props import Prop, sharp_outline
from stickout.cli.show.scene.scene import Scene
from stickout.cli.show.scene.solids import Solid
from stickout.cli.show.scene.workpiece import Workpiece, drawn_work
from stickout.meshes.tagged import FloatArray

_NO_LINES = np.empty((0, 2, 3))


@dataclass(frozen=True)
class Around:
    """What stands round the bar.

    Attributes
    ----------
    behind, before
        Parts of the holder drawn before the bar and after it.
    cutter
        What carries the edge.
    work
        The work; None where no cut is named.
    holder_name
        holder or post, ``, cut open`` where it is.
    invented
        What was drawn without its sizes being in the file.
    """

    behind: tuple[Prop, ...]
    before: tuple[Prop, ...]
    cutter: Cutter
    work: Workpiece | None
    holder_name: str
    invented: tuple[str, ...]


def around(scene: Scene, sample: FloatArray, *, side: float, toward: FloatArray) -> Around:
    """Return what stands round the bar of a scene.

    Parameters
    ----------
    scene
        The scene.
    sample
        Points of the bar's skin [m], shape (n, 3).
    side
        +1 where the viewer stands on the +y side, else -1.
    toward
        Unit vector to the viewer, shape (3,).
    """
    behind, before, name, made_up = _holder(scene, sample, side=side, toward=toward)
    edge = np.asarray(scene.mesh.edge)
    if scene.setup is None:
        return Around(behind, before, Cutter(edge), None, name, ())
    cutter = drawn_cutter(scene.setup, computed=edge, toward=toward)
    work = drawn_work(scene.setup, cutter.nose, toward=toward)
    given = work is not None and work.frame is not None
    ghost = "what holds the work" if given else "work" if work else ""
    invented = [cutter.name, ghost, name.partition(",")[0] if made_up else ""]
    return Around(behind, before, cutter, work, name, tuple(filter(None, invented)))


def _holder(
    scene: Scene, sample: FloatArray, *, side: float, toward: FloatArray
) -> tuple[tuple[Prop, ...], tuple[Prop, ...], str, bool]:
    """Return the holder's parts behind and before the bar, its name, and whether its size was made up."""
    setup = scene.setup
    if "holder" in scene.mesh.regions:
        return (), (), "block", False
    if setup is not None and (setup.grip.on_floor or setup.grip.holds_part_of_a_side):
        behind, before = drawn_post(setup, near=side, toward=toward)
        return behind, before, "post", True
    if setup is not None and setup.grip.at_both_ends:
        return drawn_centres(setup, sample, toward=toward), (), "centre", True
    back, front = holder_bodies(scene, sample, side=side)
    name = "holder, cut open" if front else "holder"
    return _lined(back, toward), _lined(front, toward), name, True


def _lined(bodies: tuple[Solid, ...], toward: FloatArray) -> tuple[Prop, ...]:
    """Return bodies with the outlines of all but their hatching."""
    return tuple(
        Prop(one, _NO_LINES if one.colour == "hatch" else sharp_outline(one, toward)) for one in bodies
    )


def holder_bodies(
    scene: Scene, sample: FloatArray, *, side: float = -1.0
) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
    """Return the drawn holder, the part behind the bar and the part before it; empty when it is meshed."""
    if "holder" in scene.mesh.regions:
        return (), ()
    overhang = float(sample[:, 0].max())
    start = float(sample[:, 0].min())
    if start < -1e-6 * overhang:
        gripped = sample[sample[:, 0] < 1e-9 * overhang][:, 1:]
        margin = 0.8 * float(np.ptp(gripped, axis=0).max()) / 2
        if side < 0:
            return cut_block(gripped, start=start, margin=margin)
        behind, before = cut_block(gripped * [-1.0, 1.0], start=start, margin=margin)
        return tuple(_mirrored(one) for one in behind), tuple(_mirrored(one) for one in before)
    root = sample[sample[:, 0] < 1e-6 * overhang][:, 1:]
    half = np.full(2, 1.8 * float(np.abs(root).max()))
    return (plain_block(half, min(0.4 * overhang, half[0])),), ()


def _mirrored(body: Solid) -> Solid:
    """Return a body mirrored at y = 0, its triangles still counter-clockwise from outside."""
    flip = np.array([1.0, -1.0, 1.0])
    return Solid(body.points * flip, body.normals * flip, body.triangles[:, ::-1], body.colour)
