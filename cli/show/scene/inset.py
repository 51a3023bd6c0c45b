"""The end view: section, cutter, force and motion as seen from the free end, +y to the right and z up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import ImageDraw

from stickout.cli.show.scene.hull import convex_outline
from stickout.cli.show.scene.marks import arrow_shape
from stickout.cli.show.scene.scene import COLOURS
from stickout.cli.show.scene.stage import Stage
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class EndView:
    """Outlines in the plane y, z [m], and the unit motion and force in it.

    ``motion`` is that of the end face's middle, None where it hardly moves across; ``force`` is None where
    none is known.
    """

    section: FloatArray
    cutter: FloatArray | None
    nose: FloatArray
    motion: FloatArray | None
    force: FloatArray | None


def end_view(stage: Stage) -> EndView:
    """Return the end view of a stage."""
    points = stage.skin.sample(stage.points)
    end = points[points[:, 0] > points[:, 0].max() * (1 - 1e-6), 1:]
    cutter = None
    if stage.around.cutter.profile is not None:
        cutter = convex_outline(stage.around.cutter.profile[:, 1:])
    # The end face's own shift: a straight arrow says nothing of a twist.
    move, largest = stage.ride.shift, float(np.linalg.norm(stage.moves, axis=1).max())
    across = move[1:]
    motion = across / np.hypot(*across) if np.hypot(*across) > 0.05 * largest else None
    force = None
    if stage.arrow is not None:
        push = (stage.arrow[1] - stage.arrow[0])[1:]
        force = push / np.hypot(*push) if np.hypot(*push) > 1e-9 else None
    return EndView(convex_outline(end), cutter, stage.around.cutter.nose[1:], motion, force)


def draw_end_view(
    pen: ImageDraw.ImageDraw, view: EndView, *, middle: FloatArray, radius: float, unit: float
) -> None:
    """Draw an end view into a circle.

    Parameters
    ----------
    pen
        Where it is drawn.
    view
        What is drawn.
    middle
        Middle of the circle [pixel], shape (2,).
    radius
        Its radius [pixel].
    unit
        A 720th of the picture's height [pixel].
    """
    x, y = middle
    pen.ellipse(
        (x - radius, y - radius, x + radius, y + radius),
        fill="white",
        outline=COLOURS["faint"],
        width=round(2 * unit),
    )
    bodies = [view.section] if view.cutter is None else [view.section, view.cutter]
    reach = max(float(np.hypot(*one.T).max()) for one in bodies)
    scale = 0.62 * radius / reach

    def at(points: FloatArray) -> FloatArray:
        return middle + points * [scale, -scale]

    for outline, colour in zip(bodies, ("steel", "cutter"), strict=False):
        corners = [tuple(one) for one in at(outline)]
        pen.polygon(corners, fill=COLOURS[colour])
        pen.line([*corners, corners[0]], fill=COLOURS["line"], width=round(1.6 * unit))
    if view.motion is not None:
        half = 0.78 * radius * view.motion * [1, -1]
        for shape in arrow_shape(
            middle - half, middle + half, shaft=9 * unit, head=26 * unit, both=True, rim=3 * unit
        ):
            pen.polygon(shape.corners, fill=COLOURS["moves"] if shape.inner else "white")
    if view.force is not None:
        head = at(view.nose)
        tail = head - 0.34 * radius * view.force * [1, -1]
        for shape in arrow_shape(tail, head, shaft=9 * unit, head=22 * unit, rim=3 * unit):
            pen.polygon(shape.corners, fill=COLOURS["force"] if shape.inner else "white")
