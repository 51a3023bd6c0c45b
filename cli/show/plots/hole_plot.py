"""The picture of ``size``: the best bar in its hole, from the free end and from above, gaps measured."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from stickout.cli.show.plots.above_plot import RIM, WORK, draw_from_above, end_bar
from stickout.cli.show.plots.measuring import SMALL, frame, leader, level_size, upright_size
from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, save, sheet
from stickout.cli.show.plots.section_plot import section_outline
from stickout.cli.text.size_text import job_words
from stickout.cli.text.size_words import bar_words, gap_text, size_text_of, sizes_of
from stickout.fem.size.hole import Place
from stickout.fem.size.job import Bore, Shank, SizeJob
from stickout.fem.size.options import Option, space_of
from stickout.fem.size.size import SizeAnswer
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# A round bar that fills this share of its room leaves nothing of the room's circle to see.
_FILLED: Final = 0.98


def draw_size(answer: SizeAnswer, path: Path, *, number: int = 1) -> None:
    """Write the picture of a bar of the ranking: end view to scale beside the view from above."""
    option, work, units = answer.bars[number - 1].option, answer.job.work, answer.job.units
    dashed = False
    with sheet(11.0, 5.4, title=job_words(answer.job)) as figure:
        left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.45))
        if isinstance(work, Bore) and option.place is not None:
            draw_end_in_hole(left, answer.job, option=option, place=option.place)
            dashed = draw_room(left, answer.job, option=option)
        elif isinstance(work, Shank):
            draw_end_in_groove(left, work, option=option, units=units)
        draw_from_above(right, answer.job, option=option)
        named = bar_words(option, units, article=False)
        which = "Stiffest bar" if number == 1 else f"Bar {number} of the ranking"
        told = " Dashed circle: the room for the bar." if dashed else ""
        figure.supxlabel(f"{which}: {named}. To scale.{told}", x=0.01, ha="left", fontsize=11)
        save(figure, path)


def draw_room(axes: Axes, job: SizeJob, *, option: Option) -> bool:
    """Draw the circle that every section was fitted into; a round bar that fills it hides it: False then."""
    space, side = space_of(job), 1 if option.setup.edge.offset_y_mm > 0 else -1
    if option.shape == "round" and option.size_mm * MM > _FILLED * 2 * space.radius:
        return False
    room = _circle(space.radius / MM, np.radians(np.linspace(0, 360, 361)))
    axes.plot(room[:, 0] + side * space.middle / MM, room[:, 1], color=SOFT, lw=0.8, ls=(0, (2, 2)), zorder=1)
    return True


def draw_end_in_hole(axes: Axes, job: SizeJob, *, option: Option, place: Place) -> None:
    """Draw the bar in its hole from the free end: wall, bar, cutter, the two gaps."""
    space, units = space_of(job), job.units
    radius = space.bore / 2 / MM
    level = -RIM * radius * 1.1
    wide, title = 1.75 * radius, "From the free end"
    frame(axes, (-wide, wide), up=(1.5 * level, 1.62 * radius), title=title)
    angle = np.radians(np.linspace(0, 360, 361))
    inner = _circle(radius, angle)
    axes.fill(*np.concatenate([_circle(RIM * radius, angle), inner[::-1]]).T, **WORK)
    axes.plot(*inner.T, color=INK, lw=1.8)
    axis = np.array([place.y, place.z]) / MM
    outlines = section_outline(end_bar(option), option.setup.bar.rotation_deg)
    axes.fill(*(outlines[0] + axis).T, facecolor=PALE, edgecolor=INK, lw=1.6, zorder=2)
    for bore in outlines[1:]:
        axes.fill(*(bore + axis).T, facecolor="white", edgecolor=INK, lw=1.2, zorder=3)
    side = 1 if option.setup.edge.offset_y_mm > 0 else -1  # which wall is cut
    face, back = side * (radius - place.gaps.front / MM), side * (-radius + place.gaps.behind / MM)
    _cutter(axes, side * radius, face=face, root=float(axis[0]))
    axes.plot([-radius, radius], [0, 0], color=SOFT, lw=0.6, ls=(0, (8, 3, 1, 3)), zorder=4)
    for ends, gap in (((-side * radius, back), place.gaps.behind), ((face, side * radius), place.gaps.front)):
        near, far = sorted(ends)
        level_size(axes, (near, far), level=level, text=gap_text(gap, units), drop=(0, 0))
    for at, words in ((-side * radius, "room behind,\nfor chips"), (side * radius, "in front,\nthe cutter")):
        axes.text(at, 1.17 * level, words, fontsize=SMALL, ha="center", va="top")
    far = RIM * radius * 1.04
    hole = f"hole {size_text_of(2 * radius, units)}"
    leader(axes, hole, tip=(-0.72 * radius, 0.694 * radius), at=(-far, far))
    top = outlines[0][np.argmax(outlines[0] @ [0.6, 0.8])] + axis
    leader(axes, sizes_of(option, units), tip=(float(top[0]), float(top[1])), at=(0.8 * far, far))


def draw_end_in_groove(axes: Axes, work: Shank, *, option: Option, units: str) -> None:
    """Draw the shank from its free end, between the walls of the groove or beside the shoulder."""
    bar = option.setup.bar
    wide, high = bar.width_mm or 0.0, bar.height_mm or 0.0
    reach = max(wide, high)
    frame(axes, (-1.5 * reach, 1.5 * reach), up=(-1.3 * reach, 1.2 * reach), title="From the free end")
    axes.fill(*section_outline(bar, 0.0)[0].T, facecolor=PALE, edgecolor=INK, lw=1.6, zorder=2)
    open_side = work.groove_mm is None
    gap = 0.04 * wide if work.groove_mm is None else (work.groove_mm - wide) / 2
    one = 1 if option.setup.edge.offset_y_mm > 0 else -1  # the side of the shoulder
    for side in (one,) if open_side else (-1, 1):
        wall, thick = side * (wide / 2 + gap), 0.5 * reach
        corner = (min(wall, wall + side * thick), -0.65 * high)
        axes.add_patch(Rectangle(corner, thick, 1.3 * high, **WORK))
        axes.plot([wall, wall], [-0.65 * high, 0.65 * high], color=INK, lw=1.8)
    edge = (option.setup.edge.offset_y_mm, high / 2)
    axes.plot(*edge, marker="o", color=ACCENT, ms=8, zorder=5)
    leader(axes, "edge", tip=edge, at=(-one * 0.6 * reach, 0.85 * reach))
    ends = (-wide / 2, wide / 2)
    level_size(axes, ends, level=-0.8 * high, text=size_text_of(wide, units), drop=(-high / 2, -high / 2))
    upright_size(
        axes, (-high / 2, high / 2), at=-one * (wide / 2 + gap + 0.7 * reach), text=size_text_of(high, units)
    )
    what = "shoulder" if work.groove_mm is None else f"groove {size_text_of(work.groove_mm, units)}"
    axes.text(
        one * (wide / 2 + gap + 0.25 * reach), 0.7 * high, what, fontsize=SMALL, ha="center", va="bottom"
    )


def _circle(radius: float, angle: FloatArray) -> FloatArray:
    return radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def _cutter(axes: Axes, wall: float, *, face: float, root: float) -> None:
    """Draw the cutter: what sticks out filled, what lies in the bar dashed."""
    # The rake face meets the work, which moves down at the front wall and up at the rear one.
    tall = math.copysign(min(max(abs(wall - face), 0.18 * abs(wall)), 0.28 * abs(wall)), wall)
    axes.fill([wall, face, face], [0.0, 0.0, -tall], color=ACCENT, zorder=5)
    inside: dict[str, Any] = {"color": ACCENT, "lw": 1.0, "ls": (0, (4, 2)), "zorder": 4}
    for level in (0.0, -tall):
        axes.plot([root - 0.25 * wall, face], [level, level], **inside)
