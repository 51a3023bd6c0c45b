"""Draw a stage at each instant of its loop: what stands still once, what moves for each picture anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stickout.cli.show.scene.raster import (
    Canvas,
    Colours,
    Fragments,
    Triangles,
    channels,
    colour_table,
    fragments_of,
)
from stickout.cli.show.scene.scene import COLOURS, MOVEMENT_BANDS, MOVEMENT_COLOURS
from stickout.cli.show.scene.solids import Drawn, Solid, Strokes
from stickout.cli.show.scene.stage import Stage, at_instant, at_rest, half_seen
from stickout.cli.show.scene.view import View
from stickout.meshes.tagged import FloatArray

Pictures = NDArray[np.uint8]
_LIGHT: Final = np.array([-0.15, 0.5, 0.85])  # in the camera's own axes: right, up, toward the viewer
_OVER: Final = 2  # drawn so many times larger and reduced: four samples a pixel leave no steps to see
_AMBIENT, _DIFFUSE = 0.68, 0.36
_MAPPED_AMBIENT, _MAPPED_DIFFUSE = 0.80, 0.24  # so that the bands on the bar match those of the foot
_GHOST: Final = 0.45  # share of the picture with the work in it: one clean layer, half seen
_INKS: Final = (*MOVEMENT_COLOURS, *COLOURS.values())
# The middle of a colour's row in the table; movement runs over the rows of its bands.
_INK_OF: Final = {name: MOVEMENT_BANDS + at + 0.5 for at, name in enumerate(COLOURS)}
_MOST: Final = MOVEMENT_BANDS - 1e-3  # the largest movement lies in the last band


@dataclass(frozen=True)
class _Still:
    """What does not move: the canvas with it, the same reduced, and what is half seen before it."""

    canvas: Canvas
    picture: Pictures
    ghost: Fragments


def draw(stage: Stage, swings: Sequence[float]) -> Pictures:
    """Return the pictures of a stage.

    Parameters
    ----------
    stage
        What is drawn.
    swings
        Instants of the loop, -1 to 1.

    Returns
    -------
    ndarray
        Red, green and blue, shape (n_swings, height, width, 3).
    """
    still = _still(stage)
    canvas = still.canvas.copy()
    return np.stack([_moved(stage, swing, still=still, canvas=canvas) for swing in swings])


def _still(stage: Stage) -> _Still:
    """Return what does not move in any picture of a stage."""
    width, height = _grid(stage.view)
    canvas, veil = Canvas.blank(width, height), Canvas.blank(width, height)
    canvas.lay(_drawn(at_rest(stage), stage.view))
    veil.lay(_drawn(half_seen(stage), stage.view))
    ghost = veil.seen()
    return _Still(
        canvas, _reduced(canvas.colour), ghost.only(ghost.near > canvas.near.reshape(-1)[ghost.place])
    )


def _moved(stage: Stage, swing: float, *, still: _Still, canvas: Canvas) -> Pictures:
    """Return the picture of one instant: only the rows that something moves or is half seen in are new."""
    moving = _drawn(at_instant(stage, swing), stage.view)
    touched = [_rows(one, stage.view) for one in (moving, still.ghost) if len(one.place)]
    if not touched:
        return still.picture
    low, high = min(one[0] for one in touched), max(one[1] for one in touched)
    rows = slice(_OVER * low, _OVER * high)
    canvas.take_rows(still.canvas, rows)
    canvas.lay(moving)
    _veil(canvas, still.ghost)
    picture = still.picture.copy()
    picture[low:high] = _reduced(canvas.colour[rows])
    return picture


def _rows(fragments: Fragments, view: View) -> tuple[int, int]:
    """Return the first row of the picture that fragments touch, and the one after the last."""
    row = _OVER * _grid(view)[0]
    return int(fragments.place.min()) // row, int(fragments.place.max()) // row + 1


def _veil(canvas: Canvas, ghost: Fragments) -> None:
    """Lay what is half seen over what is drawn, where nothing nearer is."""
    colour = canvas.colour.reshape(-1)
    over = ghost.only(ghost.near > canvas.near.reshape(-1)[ghost.place])
    mixed = (1 - _GHOST) * channels(colour[over.place]) + _GHOST * channels(over.colour)
    colour[over.place] = np.rint(mixed).astype(np.uint8).view(np.uint32)[:, 0]


def _reduced(colour: Colours) -> Pictures:
    """Return a canvas as a picture, each pixel the mean of four, shape (height, width, 3)."""
    height, width = colour.shape
    large = Image.frombuffer("RGBX", (width, height), colour, "raw", "RGBX", 0, 1)
    return np.asarray(large.reduce(_OVER))[:, :, :3]


def _grid(view: View) -> tuple[int, int]:
    """Return width and height of the canvas."""
    return _OVER * view.size[0], _OVER * view.size[1]


@cache
def _table() -> Colours:
    """Return the colours of everything that is drawn under every light."""
    return colour_table(_INKS)


def _drawn(drawn: Drawn, view: View) -> Fragments:
    """Return what bodies and lines put on the canvas."""
    parts = [*(_body(one, view) for one in drawn.solids), *(_line(one, view) for one in drawn.lines)]
    none = Triangles(np.empty((0, 3, 2)), *(np.empty((0, 3)) for _ in range(3)))
    whole = [
        np.concatenate([getattr(one, name) for one in (none, *parts)])
        for name in ("corners", "near", "ink", "shade")
    ]
    return fragments_of(Triangles(*whole), _grid(view), table=_table())


def light_of(body: Solid) -> tuple[float, float]:
    """Return ambient and diffuse light of a body; a cut face is flat paper, as in a section drawing."""
    if body.values is not None:
        return _MAPPED_AMBIENT, _MAPPED_DIFFUSE
    return (1.0, 0.0) if body.colour in ("section", "hatch") else (_AMBIENT, _DIFFUSE)


def _body(body: Solid, view: View) -> Triangles:
    """Return the triangles of a body that face the viewer."""
    flat = _OVER * view.pixels(body.points)
    a, b, c = (flat[body.triangles[:, at]] for at in range(3))
    # Counter-clockwise from outside is clockwise where y runs down.
    facing = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] < 0
    corners = body.triangles[facing]
    ambient, diffuse = light_of(body)
    toward_light = (_LIGHT / np.linalg.norm(_LIGHT)) @ view.axes
    shade = ambient + diffuse * np.clip(body.normals @ toward_light, 0.0, 1.0)
    if body.values is None:
        ink = np.full(len(flat), _INK_OF[body.colour])
    else:
        ink = np.clip(MOVEMENT_BANDS * body.values, 0.0, _MOST)
    return Triangles(flat[corners], view.depth(body.points)[corners], ink[corners], shade[corners])


def _line(line: Strokes, view: View) -> Triangles:
    """Return lines as two triangles each; the widths are those of a picture 720 high."""
    flat, near = _OVER * view.pixels(line.segments), view.depth(line.segments)
    run = flat[:, 1] - flat[:, 0]
    length: FloatArray = np.maximum(np.hypot(*run.T), 1e-12)[:, None]
    half = 0.5 * _OVER * line.width * view.size[1] / 720
    side = half * np.stack([-run[:, 1], run[:, 0]], axis=1) / length
    ends = np.stack([flat[:, 0] - side, flat[:, 0] + side, flat[:, 1] + side, flat[:, 1] - side], axis=1)
    corners = np.concatenate([ends[:, [0, 1, 2]], ends[:, [0, 2, 3]]])
    depth = np.concatenate([near[:, [0, 0, 1]], near[:, [0, 1, 1]]])
    ink = np.full(depth.shape, _INK_OF[line.colour])
    return Triangles(corners, depth, ink, np.ones(depth.shape))
