"""Draw stages without GL: triangles sorted far to near and painted by matplotlib's own Agg renderer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection, LineCollection, PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from stickout.cli.show.scene.picture import GHOST_LINE, LIGHT, PROP_LINE, Pictures, halved, light_of, mixed
from stickout.cli.show.scene.scene import COLOURS, MOVEMENT_BANDS, MOVEMENT_COLOURS
from stickout.cli.show.scene.solids import Solid, Strokes
from stickout.cli.show.scene.stage import Stage, at_instant
from stickout.cli.show.scene.view import View
from stickout.meshes.tagged import FloatArray, IntArray

# Drawn at twice the size without anti-aliasing, then halved: anti-aliased triangles show their seams.
_OVER = 2
_DPI = 100


def draw_plain(stages: Sequence[Stage], swings: Sequence[float]) -> list[Pictures]:
    """Return pictures of each stage at each swing, drawn without GL.

    Parameters
    ----------
    stages
        What is drawn.
    swings
        Instants of the loop, -1 to 1.

    Returns
    -------
    list of ndarray
        Red, green and blue, one array per stage, shape (n_swings, height, width, 3).
    """
    return [np.stack([_draw(stage, swing) for swing in swings]) for stage in stages]


def _draw(stage: Stage, swing: float) -> Pictures:
    """Return one picture, shape (height, width, 3)."""
    width, height = stage.view.size
    figure = Figure(figsize=(width / _DPI, height / _DPI), dpi=_OVER * _DPI, facecolor=COLOURS["paper"])
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0, width), ylim=(height, 0))
    axes.set_axis_off()
    instant, view = at_instant(stage, swing), stage.view
    layers: list[Collection] = []
    for prop in instant.behind:
        layers += [_paint([prop.solid], view), _line(Strokes(prop.outline, "line", PROP_LINE), view)]
    layers += [_paint(instant.bar, view), _line(instant.bar_lines, view)]
    for prop in instant.before:
        layers += [_paint([prop.solid], view), _line(Strokes(prop.outline, "line", PROP_LINE), view)]
    _lay(axes, layers)
    canvas.draw()
    without = halved(np.array(canvas.buffer_rgba())[:, :, :3])
    if not instant.ghost:
        return without
    ghosts: list[Collection] = [_paint([one.solid], view) for one in instant.ghost]
    ghosts += [_line(Strokes(one.outline, "work line", GHOST_LINE), view) for one in instant.ghost]
    _lay(axes, ghosts)
    # Over what is painted already: drawing the canvas anew would paint all the rest a second time.
    for ghost in ghosts:
        ghost.draw(canvas.get_renderer())
    return mixed(without, halved(np.array(canvas.buffer_rgba())[:, :, :3]))


def _lay(axes: Axes, layers: Sequence[Collection]) -> None:
    """Lay layers over what is painted already."""
    for order, layer in enumerate(layers, start=len(axes.collections)):
        layer.set_zorder(order)
        axes.add_collection(layer, autolim=False)


def _paint(bodies: Sequence[Solid], view: View) -> PolyCollection:
    """Return the triangles that face the viewer, of all bodies together far to near, shaded as with GL."""
    painted = [_shaded(body, view) for body in bodies]
    outlines, colours, depths = (np.concatenate(one) for one in zip(*painted, strict=True))
    order = np.argsort(depths, kind="stable")
    # One array, which the library takes by its short way; its types name lists only.
    corners: Any = outlines[order]
    return PolyCollection(corners, facecolors=colours[order], edgecolors="none", antialiaseds=False)


def _shaded(body: Solid, view: View) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the facing triangles of a body: corners [pixel] (n, 3, 2), colours (n, 3), how near (n,)."""
    facing = body.normals[body.triangles].mean(axis=1) @ view.toward > 0
    corners = body.triangles[facing]
    depth = view.depth(body.points[corners].mean(axis=1))
    light = (LIGHT / np.linalg.norm(LIGHT)) @ view.axes
    ambient, diffuse = light_of(body)
    shade = ambient + diffuse * np.clip(body.normals[corners].mean(axis=1) @ light, 0.0, 1.0)
    outlines = view.pixels(body.points[corners])
    if body.values is None:
        base = np.tile(to_rgb(COLOURS[body.colour]), (len(corners), 1))
    else:
        outlines, values, source = cut_at_bands(outlines, body.values[corners])
        base, shade, depth = _banded(values.mean(axis=1)), shade[source], depth[source]
    return outlines, np.clip(base * shade[:, None], 0.0, 1.0), depth


def cut_at_bands(corners: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return triangles cut along the limits of the movement bands, so that each lies in one band.

    Parameters
    ----------
    corners
        Corners of each triangle [pixel], shape (n, 3, 2).
    values
        Relative movement at them, 0 to 1, shape (n, 3).

    Returns
    -------
    corners, values
        The pieces, shapes (m, 3, 2) and (m, 3).
    source
        Which triangle each piece comes from, rising, shape (m,).
    """
    packed = np.concatenate([corners, values[:, :, None]], axis=2)
    source = np.arange(len(packed))
    for level in np.arange(1, MOVEMENT_BANDS) / MOVEMENT_BANDS:
        packed, source = _cut_at(packed, source, level)
    order = np.argsort(source, kind="stable")
    return packed[order, :, :2], packed[order, :, 2], source[order]


def _cut_at(packed: FloatArray, source: IntArray, level: float) -> tuple[FloatArray, IntArray]:
    """Return triangles (n, 3, 3) of x, y, value with each that crosses ``level`` cut into three."""
    above = packed[:, :, 2] > level
    count = above.sum(axis=1)
    crossed = count % 3 != 0
    if not crossed.any():
        return packed, source
    # Turn each until the corner that stands alone on its side comes first.
    lone = np.argmax(above[crossed] == (count[crossed] == 1)[:, None], axis=1)
    turned = np.take_along_axis(packed[crossed], ((lone[:, None] + np.arange(3)) % 3)[:, :, None], axis=1)
    a, b, c = turned[:, 0], turned[:, 1], turned[:, 2]
    ab = a + (b - a) * ((level - a[:, 2]) / (b[:, 2] - a[:, 2]))[:, None]
    ac = a + (c - a) * ((level - a[:, 2]) / (c[:, 2] - a[:, 2]))[:, None]
    pieces = [np.stack(three, axis=1) for three in ((a, ab, ac), (ab, b, c), (ab, c, ac))]
    return np.concatenate([packed[~crossed], *pieces]), np.concatenate(
        [source[~crossed], *[source[crossed]] * 3]
    )


def _banded(values: FloatArray) -> FloatArray:
    """Return the band colours of relative movements (n,), shape (n, 3)."""
    table = np.array([to_rgb(colour) for colour in MOVEMENT_COLOURS])
    return np.asarray(table[np.minimum((values * MOVEMENT_BANDS).astype(int), MOVEMENT_BANDS - 1)])


def _line(strokes: Strokes, view: View) -> LineCollection:
    """Return lines in the picture's own pixels."""
    width = strokes.width * view.size[1] / 720 * 72 / _DPI
    return LineCollection(
        list(view.pixels(strokes.segments)), colors=COLOURS[strokes.colour], linewidths=width
    )
