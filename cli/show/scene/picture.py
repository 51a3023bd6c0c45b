"""Draw stages with pyvista, off-screen, in a child process that may die without harm.

The parent writes the stages to a private folder, the child writes the pictures beside them.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stickout.cli.show.scene.probe import (
    NO_GL_EXIT,
    child_command,
    child_environment,
    usable_window,
    window_class,
)
from stickout.cli.show.scene.props import Prop
from stickout.cli.show.scene.scene import COLOURS, MOVEMENT_BANDS, MOVEMENT_COLOURS
from stickout.cli.show.scene.solids import Solid, Strokes
from stickout.cli.show.scene.stage import Instant, Stage, at_instant

if TYPE_CHECKING:
    import pyvista

Pictures = NDArray[np.uint8]
LIGHT = np.array([-0.15, 0.5, 0.85])  # in the camera's own axes: right, up, toward the viewer
PROP_LINE, GHOST_LINE = 1.3, 2.0  # line widths, pixel of a picture 720 high
READY = "window found"
_OVER = 2
AMBIENT, DIFFUSE = 0.68, 0.36
MAPPED_AMBIENT, MAPPED_DIFFUSE = 0.80, 0.24  # so that the bands on the bar match those of the foot
GHOST = 0.45  # share of the picture with the work in it: one clean layer, half seen


class NoPictureError(RuntimeError):
    """The child could not draw; ``no_gl`` says whether a missing GL driver is the likely cause."""

    def __init__(self, reason: str, *, no_gl: bool) -> None:
        self.no_gl = no_gl
        super().__init__(reason)


def draw_gl(stages: Sequence[Stage], swings: Sequence[float], *, timeout_s: float = 300.0) -> list[Pictures]:
    """Return pictures of each stage at each swing, drawn with GL in a child process.

    Parameters
    ----------
    stages
        What is drawn; all pictures of one stage share one plotter and one camera.
    swings
        Instants of the loop, -1 to 1.
    timeout_s
        How long the child may take in all.

    Returns
    -------
    list of ndarray
        Red, green and blue, one array per stage, shape (n_swings, height, width, 3).

    Raises
    ------
    NoPictureError
        There is no GL driver, the child died, or it took too long.
    """
    with tempfile.TemporaryDirectory(prefix="stickout-draw-") as name:
        folder = Path(name)
        (folder / "job.pickle").write_bytes(pickle.dumps((list(stages), list(swings))))
        command = child_command("stickout.cli.show.scene.picture", name)
        try:
            done = subprocess.run(
                command,
                env=child_environment(),
                capture_output=True,
                text=True,
                timeout=timeout_s,
                check=False,
            )
        except subprocess.TimeoutExpired as late:
            raise NoPictureError(
                f"the drawing child gave no answer in {timeout_s:.0f} s", no_gl=False
            ) from late
        if done.returncode != 0:
            last = (done.stderr.strip().splitlines() or ["no message"])[-1]
            no_gl = done.returncode == NO_GL_EXIT or (done.returncode < 0 and READY not in done.stdout)
            raise NoPictureError(f"the drawing child ended with {done.returncode} ({last})", no_gl=no_gl)
        return [np.load(folder / f"{at}.npy") for at in range(len(stages))]


def light_of(body: Solid) -> tuple[float, float]:
    """Return ambient and diffuse light of a body; a cut face is flat paper, as in a section drawing."""
    if body.values is not None:
        return MAPPED_AMBIENT, MAPPED_DIFFUSE
    return (1.0, 0.0) if body.colour in ("section", "hatch") else (AMBIENT, DIFFUSE)


def _draw_stage(stage: Stage, swings: Sequence[float]) -> Pictures:
    """Return the pictures of one stage; runs in the child."""
    import pyvista

    # Twice the size and halved: as smooth as the library's own smoothing at half the time (measured here).
    plotter = pyvista.Plotter(
        off_screen=True, window_size=[_OVER * side for side in stage.view.size], lighting="none"
    )
    # Its samples for each pixel come on top of that unless they are refused, at four times the time.
    plotter.render_window.SetMultiSamples(0)
    try:
        plotter.set_background(COLOURS["paper"])
        light = pyvista.Light(light_type="camera light", position=tuple(LIGHT / np.linalg.norm(LIGHT)))
        light.positional = False
        plotter.add_light(light)
        solids, lines = _actors(plotter, at_instant(stage, 0.0))
        ghosts = _ghosts(plotter, at_instant(stage, 0.0).ghost)
        _aim(plotter, stage)
        frames = []
        for swing in swings:
            instant = at_instant(stage, swing)
            for actor, body in zip(solids, solids_of(instant), strict=True):
                actor.mapper.dataset = _poly(body)
            for actor, line in zip(lines, lines_of(instant), strict=True):
                actor.mapper.dataset = _wires(line)
            frames.append(_shot(plotter, ghosts))
        return np.stack(frames)
    finally:
        plotter.close()


def _shot(plotter: pyvista.Plotter, ghosts: Sequence[pyvista.Actor]) -> Pictures:
    """Return one picture, the ghosts half seen."""
    solid = [actor for actor in plotter.actors.values() if actor not in ghosts]
    _show_only(plotter, solid, over=False)
    # Without a new render the screenshot repeats the old picture.
    plotter.render()
    without = halved(plotter.screenshot(return_img=True)[:, :, :3])
    if not ghosts:
        return without
    _show_only(plotter, ghosts, over=True)
    plotter.render()
    return mixed(without, halved(plotter.screenshot(return_img=True)[:, :, :3]))


def _show_only(plotter: pyvista.Plotter, actors: Sequence[Any], *, over: bool) -> None:
    """Let the next render draw these actors alone: on white, or over what the last one has drawn."""
    for actor in plotter.actors.values():
        actor.visibility = actor in actors
    plotter.renderer.SetPreserveColorBuffer(over)
    plotter.renderer.SetPreserveDepthBuffer(over)


def halved(large: Pictures) -> Pictures:
    """Return a picture of half the size, each pixel the mean of four."""
    return np.asarray(Image.fromarray(large).reduce(_OVER))


def mixed(without: Pictures, over: Pictures) -> Pictures:
    """Return two pictures as one, the second half seen."""
    return np.asarray(np.rint((1 - GHOST) * without + GHOST * over), dtype=np.uint8)


def solids_of(instant: Instant) -> list[Solid]:
    """Return every body of an instant but the ghosts."""
    return [
        *(one.solid for one in instant.behind),
        *instant.bar,
        *(one.solid for one in instant.before),
    ]


def lines_of(instant: Instant) -> list[Strokes]:
    """Return the lines of an instant that are there, but those of the ghosts."""
    props = [one.outline for one in (*instant.behind, *instant.before) if len(one.outline)]
    drawn = [Strokes(np.concatenate(props), "line", PROP_LINE)] if props else []
    return [instant.bar_lines, *drawn]


def _actors(plotter: pyvista.Plotter, instant: Instant) -> tuple[list[pyvista.Actor], list[pyvista.Actor]]:
    """Add every body and line of an instant to the plotter; return their actors in that order."""
    return (
        [_add(plotter, body) for body in solids_of(instant)],
        [_add_line(plotter, line) for line in lines_of(instant)],
    )


def _ghosts(plotter: pyvista.Plotter, ghosts: Sequence[Prop]) -> list[pyvista.Actor]:
    """Add the ghosts, which stand still; return their actors."""
    added = [_add(plotter, one.solid) for one in ghosts]
    if ghosts:
        lines = np.concatenate([one.outline for one in ghosts])
        added.append(_add_line(plotter, Strokes(lines, "work line", GHOST_LINE)))
    return added


def _add(plotter: pyvista.Plotter, body: Solid) -> pyvista.Actor:
    """Add one body."""
    look: dict[str, Any] = {"color": COLOURS.get(body.colour)}
    if body.values is not None:
        look = {
            "scalars": "movement",
            "cmap": list(MOVEMENT_COLOURS),
            "clim": (0.0, 1.0),
            "n_colors": MOVEMENT_BANDS,
        }
    ambient, diffuse = light_of(body)
    return plotter.add_mesh(
        _poly(body),
        interpolation="Phong",
        copy_mesh=False,
        ambient=ambient,
        diffuse=diffuse,
        specular=0.0,
        show_scalar_bar=False,
        interpolate_before_map=True,
        **look,
    )


def _add_line(plotter: pyvista.Plotter, line: Strokes) -> pyvista.Actor:
    """Add lines; the widths are those of a picture 720 high."""
    width = line.width * float(plotter.window_size[1]) / 720
    return plotter.add_mesh(_wires(line), color=COLOURS[line.colour], line_width=width, lighting=False)


def _poly(body: Solid) -> pyvista.PolyData:
    """Return a body as the drawing library's surface."""
    import pyvista

    faces = np.concatenate([np.full((len(body.triangles), 1), 3), body.triangles], axis=1)
    surface = pyvista.PolyData(body.points, faces.ravel())
    surface.point_data["Normals"] = body.normals
    surface.point_data.active_normals_name = "Normals"
    if body.values is not None:
        surface.point_data["movement"] = body.values
        surface.set_active_scalars("movement")
    return surface


def _wires(line: Strokes) -> pyvista.PolyData:
    """Return straight pieces as the drawing library's lines."""
    import pyvista

    count = len(line.segments)
    cells = np.concatenate([np.full((count, 1), 2), np.arange(2 * count).reshape(-1, 2)], axis=1)
    return pyvista.PolyData(line.segments.reshape(-1, 3), lines=cells.ravel())


def _aim(plotter: pyvista.Plotter, stage: Stage) -> None:
    """Set the one camera: parallel, so that it agrees with ``View.pixels``."""
    view = stage.view
    camera = plotter.camera
    far = 10.0 * float(np.ptp(stage.points, axis=0).max())
    camera.focal_point = tuple(view.middle)
    camera.position = tuple(view.middle + far * view.toward)
    camera.up = tuple(view.axes[1])
    camera.parallel_projection = True
    camera.parallel_scale = view.size[1] / (2 * view.scale)
    camera.clipping_range = (0.2 * far, 2.0 * far)


def main() -> int:
    """Draw the job in the folder named on the command line; return 0, or ``NO_GL_EXIT`` without a driver."""
    folder = Path(sys.argv[1])
    if not usable_window(window_class()):
        return NO_GL_EXIT
    sys.stdout.write(READY + "\n")
    sys.stdout.flush()
    # The parent wrote this file a moment ago into a folder only this user can read.
    stages, swings = pickle.loads((folder / "job.pickle").read_bytes())
    for at, stage in enumerate(stages):
        np.save(folder / f"{at}.npy", _draw_stage(stage, swings))
    return 0
