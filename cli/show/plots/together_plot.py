"""Tool, part and what holds them on one clock at the pitch of the chatter: two views, one loop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from stickout.cli.outputs import writing
from stickout.cli.show.plots.beside import check_together
from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, sheet, written_sheet
from stickout.cli.show.plots.work_plot import METAL, draw_holding, radius_at
from stickout.cli.text.together_words import together_words
from stickout.fem.cut.operating import Operating, operating_motion
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.cli.show.plots.plot_style import AnyAxes
    from stickout.cli.show.scene.picture import Pictures
    from stickout.fem.cut.answer import CutAnswer

FRAMES: Final = 24
# Greatest movement as drawn, in the part's diameters; in the bar's sizes without a part.
_DRAWN: Final = 0.3
_CLOSE: Final = 1e-6
_ROUND: Final = np.linspace(0.0, 2 * np.pi, 97)
# Phases of the strip, in turns, and what is said over each.
_STRIP: Final = (
    (0.0, "furthest apart"),
    (0.25, "a quarter swing later"),
    (0.5, "half a swing later: closest"),
)


@dataclass(frozen=True)
class _Sizes:
    """Sizes [mm]: radius of the part at the cut, half sizes of the bar, movement per opening of one."""

    radius: float
    half_width: float
    half_height: float
    drawn: float


def draw_together(answer: CutAnswer, out: Path) -> str:
    """Draw tool, part and supports on one clock, and return what was drawn in a sentence.

    Parameters
    ----------
    answer
        The answer on the cut.
    out
        .gif, .mp4 or .webm for a loop; .png for the picture where the opening is greatest.

    Raises
    ------
    InputError
        As ``check_together``, or the file cannot be written.
    """
    setup = answer.result.setup
    check_together(setup)
    with writing(out, key="--out") as part:
        if out.suffix.lower() == ".png":
            from PIL import Image

            (picture,) = together_frames(answer, moments=1)
            Image.fromarray(picture).save(part, format="PNG")
        else:
            from stickout.cli.show.scene.film import write_loop

            write_loop(together_frames(answer), part, order=range(FRAMES))
    return together_words(setup, operating_motion(answer))


def draw_strip(answer: CutAnswer, path: Path) -> str:
    """Draw three moments of the swing side by side to a file, for paper, and return what is drawn.

    Parameters
    ----------
    answer
        The answer on the cut.
    path
        The file; its suffix says the format.

    Raises
    ------
    InputError
        As ``check_together``.
    """
    setup = answer.result.setup
    check_together(setup)
    motion = operating_motion(answer)
    sizes = _sizes(setup, motion)
    with written_sheet(9.6, 3.8, title="", path=path) as figure:
        for column, (turns, name) in zip(figure.subplots(2, len(_STRIP)).T, _STRIP, strict=True):
            turn = np.exp(2j * np.pi * turns)
            _from_above(column[0], setup, motion, sizes=sizes, turn=turn)
            _from_tailstock(column[1], setup, motion, sizes=sizes, turn=turn)
            column[0].set_title(name)
            column[1].set_title("")
    return together_words(setup, motion)


def together_frames(answer: CutAnswer, *, moments: int | None = None) -> list[Pictures]:
    """Return the pictures of one loop, from where the opening is greatest, shape (height, width, 3) each.

    Each side has a phase of its own, so that no picture stands for two moments.

    Parameters
    ----------
    answer
        The answer on the cut.
    moments
        Into how many the loop is parted, 1 or above; None for as many as a loop has.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    setup, motion = answer.result.setup, operating_motion(answer)
    sizes = _sizes(setup, motion)
    count = moments or FRAMES
    pictures = []
    with sheet(9.6, 5.4, title=setup.title or "Untitled set-up") as figure:
        figure.set_dpi(100)
        panes = figure.subplots(1, 2, width_ratios=(5, 3))
        figure.supxlabel(together_words(setup, motion), fontsize=9, color=SOFT)
        canvas = FigureCanvasAgg(figure)
        for at in range(count):
            for axes, drawn in zip(panes, (_from_above, _from_tailstock), strict=True):
                axes.clear()
                drawn(axes, setup, motion, sizes=sizes, turn=np.exp(2j * np.pi * at / count))
            canvas.draw()
            pictures.append(np.asarray(canvas.buffer_rgba())[..., :3].copy())
            figure.set_layout_engine("none")  # the places of the panes are those of the first picture
    return pictures


def _sizes(setup: Setup, motion: Operating) -> _Sizes:
    """Return what is drawn how large [mm]."""
    bar, work, cut = setup.bar, setup.work, setup.cut
    wide = None if cut is None else cut.work_diameter_mm
    radius = radius_at(work, work.cut_at_mm) if work is not None else 0.5 * (wide or 2 * bar.size_mm)
    size = min(2 * radius, 1.5 * bar.size_mm)
    most = max(float(np.abs(one).max()) for one in (motion.tool, motion.part) if one.size)
    width = bar.diameter_mm or bar.width_mm or bar.size_mm
    return _Sizes(radius, width / 2, bar.size_mm / 2, _DRAWN * size / most)


def _from_above(axes: AnyAxes, setup: Setup, motion: Operating, *, sizes: _Sizes, turn: complex) -> None:
    """Draw part, holding and tool from above, the headstock on the left, the tool below."""
    axes.set_title("from above")
    axes.set_aspect("equal", adjustable="box")
    axes.set_axis_off()
    at = 0.0 if setup.work is None else setup.work.cut_at_mm
    if setup.work is not None:
        draw_holding(axes, setup.work)
        s, moved = motion.part_at / MM, sizes.drawn * (motion.part[:, 0] * turn).real
        for start, stop, diameter, _ in sections(setup.work):
            own = (s >= start - _CLOSE) & (s <= stop + _CLOSE)
            low, high = moved[own] - diameter / 2, moved[own] + diameter / 2
            axes.fill_between(s[own], low, y2=high, color=METAL, ec=INK, lw=0.8, zorder=2)
        axes.plot(s, moved, ls="-.", color=INK, lw=0.6, zorder=4)
    else:
        axes.axhline(0.0, color=INK, lw=0.6, ls="-.")
        axes.axhline(-sizes.radius, color=SOFT, lw=0.8)
    along, across = _tool_line(setup, motion, sizes=sizes, turn=turn, axis=1)
    _shank(axes, at - across, -sizes.radius + along, half=(sizes.half_width, 0.0))
    if setup.post is not None:
        own = motion.tool_x <= _CLOSE * MM
        _shank(axes, (at - across)[own], (along - sizes.radius)[own], half=(1.8 * sizes.half_width, 0.0))
    back = float(motion.tool_x.min() - setup.bar.overhang_mm * MM) / MM - sizes.radius
    axes.set_ylim(back - 0.5 * sizes.half_width, 2.6 * sizes.radius + sizes.half_width)
    if setup.work is None:
        axes.set_xlim(-4 * sizes.half_width, 4 * sizes.half_width)


def _from_tailstock(axes: AnyAxes, setup: Setup, motion: Operating, *, sizes: _Sizes, turn: complex) -> None:
    """Draw the part's end and the tool from the tailstock, with the paths of edge and part."""
    axes.set_title("from the tailstock, with both paths")
    axes.set_aspect("equal", adjustable="box")
    axes.set_axis_off()
    middle = sizes.drawn * (motion.at_cut * turn).real
    ring = sizes.radius * np.array([np.cos(_ROUND), np.sin(_ROUND)])
    axes.fill(ring[0] - middle[0], ring[1] + middle[2], fc=METAL, ec=INK, lw=0.8)
    axes.plot([-middle[0]], [middle[2]], ls="", marker="+", color=INK, ms=8)
    along, up = _tool_line(setup, motion, sizes=sizes, turn=turn, axis=2)
    # The edge of a shank is its top corner, whatever place the computation takes for it.
    flat = setup.bar.section in ("square", "rectangle")
    middle_up = -sizes.half_height if flat else -setup.edge.offset_z_mm
    _shank(axes, sizes.radius - along, up + middle_up, half=(0.0, sizes.half_height))
    loop = np.exp(1j * _ROUND)
    for moved, look in ((motion.edge, "-"), (motion.at_cut, "--")):
        x, z = (sizes.drawn * (moved[axis] * loop).real for axis in (0, 2))
        axes.plot(sizes.radius - x, z, ls=look, color=ACCENT, lw=1.2, zorder=6)
    out = float(motion.tool_x.max() - motion.tool_x.min()) / MM
    room = 1.1 * sizes.radius + _DRAWN * 2 * sizes.radius
    axes.set_xlim(-room, sizes.radius + out + 2 * sizes.half_height)
    tall = max(room, 3 * sizes.half_height)
    axes.set_ylim(-tall, tall)
    axes.text(-sizes.radius, -1.05 * sizes.radius, s="part", fontsize=8, ha="right", va="top")
    name = "tool and post" if setup.post is not None else "tool"
    axes.text(sizes.radius + out, 0.6 * sizes.half_height, s=name, fontsize=8, ha="right", va="bottom")
    here = sizes.drawn * (motion.edge * turn).real
    axes.plot([sizes.radius - here[0]], [here[2]], ls="", marker="o", color=ACCENT, ms=4, zorder=7)


def _tool_line(
    setup: Setup, motion: Operating, *, sizes: _Sizes, turn: complex, axis: int
) -> tuple[FloatArray, FloatArray]:
    """Return the bar's axis: distance from the edge's place along the bar, and across along an axis [mm]."""
    moved = sizes.drawn * (motion.tool * turn).real
    end = setup.bar.overhang_mm - setup.edge.end_distance_mm
    return motion.tool_x / MM - end + moved[:, 0], moved[:, axis]


def _shank(axes: AnyAxes, x: FloatArray, y: FloatArray, *, half: tuple[float, float]) -> None:
    """Fill a band along a line, so wide to both sides along x and along y."""
    axes.fill(
        [*(x - half[0]), *(x + half[0])[::-1]],
        [*(y - half[1]), *(y + half[1])[::-1]],
        fc=PALE,
        ec=INK,
        lw=0.9,
        zorder=3,
        alpha=0.9,
    )
