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

import matplotlib
import numpy as np
from numpy.typing import NDArray

from stickout.cli.show.scene.probe import (
    NO_GL_EXIT,
    child_command,
    child_environment,
    usable_window,
    window_class,
)
from stickout.cli.show.scene.scene import COLOURS, MOVEMENT_BANDS, MOVEMENT_MAP
from stickout.cli.show.scene.solids import Solid, Strokes
from stickout.cli.show.scene.stage import Instant, Stage, at_instant

if TYPE_CHECKING:
    import pyvista

Pictures = NDArray[np.uint8]
LIGHT = np.array([-0.15, 0.5, 0.85])  # in the camera's own axes: right, up, toward the viewer
READY = "window found"
AMBIENT, DIFFUSE = 0.70, 0.34


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


def movement_colours() -> list[str]:
    """Return the colours of the movement bands, least to most, as hexadecimal text."""
    table = matplotlib.colormaps[MOVEMENT_MAP].resampled(MOVEMENT_BANDS)
    return [matplotlib.colors.to_hex(table(at)) for at in range(MOVEMENT_BANDS)]


def _draw_stage(stage: Stage, swings: Sequence[float]) -> Pictures:
    """Return the pictures of one stage; runs in the child."""
    import pyvista

    plotter = pyvista.Plotter(off_screen=True, window_size=list(stage.view.size), lighting="none")
    try:
        plotter.set_background(COLOURS["paper"])
        plotter.enable_anti_aliasing("ssaa")
        light = pyvista.Light(light_type="camera light", position=tuple(LIGHT / np.linalg.norm(LIGHT)))
        light.positional = False
        plotter.add_light(light)
        actors = _add_all(plotter, at_instant(stage, 0.0))
        _aim(plotter, stage)
        frames = []
        for swing in swings:
            _update(actors, at_instant(stage, swing))
            # Without a new render the screenshot repeats the old picture.
            plotter.render()
            frames.append(plotter.screenshot(return_img=True)[:, :, :3])
        return np.stack(frames)
    finally:
        plotter.close()


def _add_all(plotter: pyvista.Plotter, instant: Instant) -> list[pyvista.Actor]:
    """Add every body and line of an instant to the plotter; return their actors in that order."""
    actors = []
    for body in instant.solids:
        look: dict[str, Any] = {"color": COLOURS.get(body.colour)}
        if body.values is not None:
            look = {
                "scalars": "movement",
                "cmap": movement_colours(),
                "clim": (0.0, 1.0),
                "n_colors": MOVEMENT_BANDS,
            }
        actors.append(
            plotter.add_mesh(
                _poly(body),
                interpolation="Phong",
                copy_mesh=False,
                ambient=AMBIENT,
                diffuse=DIFFUSE,
                specular=0.0,
                show_scalar_bar=False,
                interpolate_before_map=True,
                **look,
            )
        )
    actors.extend(
        plotter.add_mesh(
            _wires(line), color=COLOURS[line.colour], line_width=_line_width(plotter, line), lighting=False
        )
        for line in (instant.rest, *instant.lines)
    )
    return actors


def _line_width(plotter: pyvista.Plotter, line: Strokes) -> float:
    """Return the width to ask for: the anti-aliasing draws at twice the size and does not widen lines."""
    return 2.0 * line.width * float(plotter.window_size[1]) / 540


def _update(actors: list[pyvista.Actor], instant: Instant) -> None:
    """Hand the actors the bodies and lines of another instant."""
    things: list[Any] = [_poly(body) for body in instant.solids]
    things += [_wires(line) for line in (instant.rest, *instant.lines)]
    for actor, thing in zip(actors, things, strict=True):
        actor.mapper.dataset = thing


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
