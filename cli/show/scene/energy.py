"""Where the energy of the modes is: shares of all parts as bars, and the solid coloured by density."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from stickout.cli.outputs import check_target, writing
from stickout.cli.show.scene.film import DrawReport
from stickout.cli.show.scene.picture import Pictures, draw
from stickout.cli.show.scene.scene import COLOURS, MOVEMENT_COLOURS, Scene
from stickout.cli.show.scene.stage import Stage, build_stage
from stickout.cli.show.typeface import drawable
from stickout.meshes.tagged import FloatArray

ENERGY_SUFFIXES: Final = (".png", ".svg")
_STILL: Final = (1000, 540)
_DPI: Final = 100
# The corners of held faces are singular: the few densest samples would leave everything else dark.
_MOST: Final = 99.0
# Okabe and Ito's palette for colour-blind readers (recalled, not opened), greys for the bar itself.
_PART_COLOURS: Final = {
    "bar": "#56B4E9",
    "grip": "#0072B2",
    "holder": "#8A8F98",
    "shim": "#D55E00",
    "wrap": "#E69F00",
    "bed": "#009E73",
    "bar on floor": "#009E73",
    "shim on floor": "#009E73",
    "bar on shim": "#CC79A7",
    "screws on bar": "#F0E442",
    "bar in sleeve": "#009E73",
}
_PART_WORDS: Final = {"grip": "bar inside the holder", "bar": "bar outside it", "holder": "block"}


@dataclass(frozen=True)
class EnergyPicture:
    """What an energy picture shows.

    Attributes
    ----------
    scene
        The mode that is coloured.
    density
        Region -> strain energy per volume at the nodes, any scale, shape (n_points,).
    shares
        Part -> share in the energy of each mode, shape (n_modes,).
    names
        One name for each mode, for the bars.
    """

    scene: Scene
    density: Mapping[str, FloatArray]
    shares: Mapping[str, FloatArray]
    names: Sequence[str]


def check_energy_target(out: Path) -> None:
    """Raise InputError where an energy picture cannot be written to a file."""
    check_target(out, key="--energy", suffixes=ENERGY_SUFFIXES)


def write_energy(picture: EnergyPicture, out: Path) -> DrawReport:
    """Draw where the energy is and write it.

    Parameters
    ----------
    picture
        What is shown.
    out
        A file that ends in .png or .svg.

    Returns
    -------
    DrawReport

    Raises
    ------
    InputError
        The scene cannot be drawn, or the file cannot be written.
    """
    check_energy_target(out)
    with writing(out, key="--energy") as temporary:
        (drawn,) = draw(energy_stage(picture), [1.0])
        rows = len(picture.names)
        height = _STILL[1] + 162 + 34 * rows
        figure = Figure(figsize=(_STILL[0] / _DPI, height / _DPI), dpi=_DPI, facecolor=COLOURS["paper"])
        _still(figure, drawn, picture.scene, height)
        _bars(figure, picture, height)
        if out.suffix.lower() == ".svg":
            # No date and fixed ids, so that the same input gives the same file.
            with matplotlib.rc_context({"svg.hashsalt": "stickout", "svg.fonttype": "none"}):
                FigureCanvasSVG(figure).print_svg(temporary, metadata={"Date": None})
        else:
            FigureCanvasAgg(figure).print_png(temporary)
    return DrawReport(path=out, frames=1, size=(_STILL[0], height))


def energy_stage(picture: EnergyPicture) -> Stage:
    """Return the stage of the mode at full swing, its skin coloured by energy per volume, 0 to 1.

    A meshed holder is left out, since it would hide what is inside it.
    """
    scene, setup = picture.scene, picture.scene.setup
    # Cutter and work would hide the bar, and neither holds any of its energy.
    bare = replace(scene, force=None, setup=None if setup is None else replace(setup, cut=None))
    stage = build_stage(bare, _STILL)
    skin = stage.skin
    nodes = np.stack([picture.density[name] for name in skin.region_names])
    values = np.einsum("sn,fn->fs", skin.weights, nodes[skin.region[:, None], skin.facets]).ravel()
    most = float(np.percentile(values, _MOST))
    scaled = np.clip(values / most, 0.0, 1.0) if most > 0 else values
    return replace(
        stage,
        values=scaled,
        holder_skin=None,
        triangles=skin.triangles,
        painted=np.full(len(skin.triangles), -1),
    )


def _still(figure: Figure, drawn: Pictures, scene: Scene, height: int) -> None:
    """Put the drawn solid and its colour bar at the top."""
    axes = figure.add_axes((0.0, 1 - _STILL[1] / height, 1.0, _STILL[1] / height))
    axes.set_axis_off()
    axes.imshow(drawn, extent=(0, _STILL[0], _STILL[1], 0), interpolation="none")
    axes.set_xlim(0, _STILL[0])
    axes.set_ylim(_STILL[1], 0)
    _text(axes, 28, 38, scene.title, size=17, weight="bold")
    words = f"Strain energy per volume of mode {scene.number}, {scene.frequency_hz:.0f} Hz"
    hidden = "; the block round the bar is left out" if "holder" in scene.mesh.regions else ""
    _text(axes, 28, 64, words + hidden, size=12)
    left, top, step = 96, _STILL[1] - 42, 22
    for at, colour in enumerate(MOVEMENT_COLOURS):
        axes.add_patch(Rectangle((left + at * step, top), step, 20, facecolor=colour, edgecolor="none"))
    right = left + step * len(MOVEMENT_COLOURS)
    _text(axes, left - 8, top + 10, "least", size=11, ha="right", va="center")
    _text(axes, right + 8, top + 10, "most energy for its volume", size=11, ha="left", va="center")


def _bars(figure: Figure, picture: EnergyPicture, height: int) -> None:
    """Put the shares of all modes below, one stacked bar each."""
    rows = len(picture.names)
    axes = figure.add_axes((0.21, 104 / height, 0.75, 34 * rows / height))
    left = np.zeros(rows)
    places = np.arange(rows)
    for name, values in picture.shares.items():
        colour = _PART_COLOURS.get(name, COLOURS["faint"])
        words = _PART_WORDS.get(name, name)
        axes.barh(places, 100 * values[:rows], left=left, color=colour, height=0.68, label=words)
        for row in places:
            share = 100 * float(values[row])
            if share >= 4:
                axes.text(
                    float(left[row]) + share / 2,
                    float(row),
                    f"{share:.0f}",
                    ha="center",
                    va="center",
                    fontsize=9,
                )
        left += 100 * values[:rows]
    axes.set_xlim(0, 100)
    axes.set_ylim(rows - 0.5, -0.5)
    axes.set_yticks(places, list(picture.names), fontsize=10)
    axes.set_xlabel("share of the mode's strain energy, %", fontsize=10)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.tick_params(axis="y", length=0)
    figure.legend(loc="lower center", ncols=5, fontsize=9, frameon=False, bbox_to_anchor=(0.5, 2 / height))


def _text(axes: Axes, x: float, y: float, words: str, **look: Any) -> None:  # noqa: ANN401 - passed on
    look |= {"color": COLOURS["words"], "family": "DejaVu Sans", "parse_math": False}
    axes.text(x, y, drawable(words), **look)
