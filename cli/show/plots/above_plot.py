"""Bar, holder and work from above, to scale, the front of the lathe below."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from stickout.cli.show.plots.measuring import SMALL, frame, level_size
from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT
from stickout.cli.show.plots.section_plot import section_outline
from stickout.cli.text.size_words import size_text_of
from stickout.fem.size.job import Bore, Shank, SizeJob
from stickout.fem.size.options import Option
from stickout.fem.units import MM
from stickout.meshes.parts import Bar

RIM: Final = 1.32  # the work is drawn this many times as wide as the hole
WORK: Final[dict[str, Any]] = {"facecolor": "white", "edgecolor": SOFT, "hatch": "///", "lw": 0.0}
_HOLDER: Final[dict[str, Any]] = {"facecolor": "white", "edgecolor": SOFT, "hatch": r"\\\\", "lw": 0.8}
_BAR: Final[dict[str, Any]] = {"facecolor": PALE, "edgecolor": INK}


@dataclass(frozen=True)
class _View:
    """Sizes of the view [mm]: where the work starts, the bar's axis, half widths, walls of the work."""

    start: float
    middle: float
    half: float
    seat: float
    walls: tuple[tuple[float, float], ...]

    @property
    def block(self) -> float:
        """Return half the width that the holder is drawn with."""
        return 1.7 * max(self.seat, self.half)

    @property
    def bottom(self) -> float:
        """Return the lowest body."""
        return min(self.middle - self.block, *(low for low, _ in self.walls))

    @property
    def top(self) -> float:
        """Return the highest body."""
        return max(self.middle + self.block, *(high for _, high in self.walls))


def draw_from_above(axes: Axes, job: SizeJob, *, option: Option) -> None:
    """Draw bar, holder and work from above, with overhang, depth and gripped length."""
    bar, view = option.setup.bar, _view(job, option)
    gripped = bar.gripped_mm or 1.5 * view.seat
    row = 0.1 * (bar.overhang_mm + gripped)
    far = max(0.17 * job.reach_mm, 0.08 * (bar.overhang_mm + gripped))
    across = (-1.1 * gripped, bar.overhang_mm + far)
    # As one stands at the lathe a boring bar points to the left, front wall below; a shank points away.
    across = across[::-1] if job.boring else across
    up = (view.bottom - 1.7 * row, view.top + 1.3 * row)
    title = "From above, " + ("the front of the lathe below" if job.boring else "the work on the right")
    frame(axes, across, up=up, title=title)
    if job.between:
        _centres(axes, view=view, length=bar.overhang_mm)
    else:
        axes.add_patch(Rectangle((-gripped, view.middle - view.block), gripped, 2 * view.block, **_HOLDER))
        axes.add_patch(Rectangle((-gripped, view.middle - view.seat), gripped, 2 * view.seat, lw=1.4, **_BAR))
    corner = (0, view.middle - view.half)
    axes.add_patch(Rectangle(corner, bar.overhang_mm, 2 * view.half, lw=1.6, zorder=3, **_BAR))
    _work(axes, job, view)
    _edge(axes, job, view=view, option=option)
    ends = [-1.05 * gripped, 1.05 * bar.overhang_mm]
    axes.plot(ends, [view.middle] * 2, color=SOFT, lw=0.6, ls=(0, (8, 3, 1, 3)), zorder=4)
    _sizes(axes, job, view=view, bar=bar)
    above = view.middle + view.block + 0.12 * row
    axes.text(
        -gripped / 2, above, "centre" if job.between else "holder", ha="center", va="bottom", fontsize=SMALL
    )


def _centres(axes: Axes, *, view: _View, length: float) -> None:
    """Draw a centre at each end of a bar that is held at both."""
    for at, way in ((0.0, -1.0), (length, 1.0)):
        x = [at, at + 0.8 * way * view.half, at + 1.6 * way * view.half]
        x, y = [*x, *x[::-1]], [0.1, 0.7, 0.7, -0.7, -0.7, -0.1]
        axes.fill(x, [view.middle + one * view.half for one in y], **_HOLDER)


def end_bar(option: Option) -> Bar:
    """Return the part of the bar that sticks out, without its steps."""
    bar = option.setup.bar
    return replace(bar, diameter_mm=bar.steps[-1].diameter_mm, steps=()) if bar.steps else bar


def _view(job: SizeJob, option: Option) -> _View:
    bar = option.setup.bar
    half, seat = (float(section_outline(b, b.rotation_deg)[0][:, 0].max()) for b in (end_bar(option), bar))
    middle = 0.0 if option.place is None else -option.place.y / MM
    walls = tuple(_walls(job.work, half=half, side=1 if option.setup.edge.offset_y_mm > 0 else -1))
    return _View(
        bar.overhang_mm - option.setup.edge.end_distance_mm - job.reach_mm, middle, half, seat, walls
    )


def _walls(work: Bore | Shank, *, half: float, side: int) -> list[tuple[float, float]]:
    """Return from where to where the work reaches across the view, a pair for each side, lowest first."""
    if isinstance(work, Bore):
        radius = work.bore_mm / 2
        return [(-RIM * radius, -radius), (radius, RIM * radius)]
    gap = 0.08 * half if work.groove_mm is None else work.groove_mm / 2 - half
    near, far = half + gap, half + gap + max(2 * half, 0.4 * work.reach_mm)
    if work.groove_mm is not None:
        return [(-far, -near), (near, far)]
    return [(near, far)] if side > 0 else [(-far, -near)]


def _work(axes: Axes, job: SizeJob, view: _View) -> None:
    """Draw the work: its two walls, and the ground that is cut under a shoulder."""
    length = (1.0 if job.between else 1.12) * job.reach_mm
    for low, high in view.walls:
        axes.add_patch(Rectangle((view.start, low), length, high - low, **WORK))
        near = high if high <= view.middle else low
        far = low + high - near
        axes.plot([view.start, view.start, view.start + length], [far, near, near], color=INK, lw=1.4)
    if isinstance(job.work, Shank):
        ends = [min(view.walls[0][0], -2 * view.half), max(view.walls[-1][1], 2 * view.half)]
        axes.plot([view.start + job.reach_mm] * 2, ends, color=SOFT, lw=1.0, ls="--")


def _edge(axes: Axes, job: SizeJob, *, view: _View, option: Option) -> None:
    """Draw the cutting edge: the cutter at the wall, or a dot on the end of a shank."""
    overhang = option.setup.bar.overhang_mm - option.setup.edge.end_distance_mm
    if not isinstance(job.work, Bore):
        axes.plot([overhang], [option.setup.edge.offset_y_mm], marker="o", color=ACCENT, ms=8, zorder=5)
        return
    side = 1 if option.setup.edge.offset_y_mm > 0 else -1
    front, face = -side * job.work.bore_mm / 2, view.middle - side * view.half
    tip = max(0.6 * view.half, 0.03 * overhang)
    axes.fill([overhang, overhang, overhang - tip], [front, face, face], color=ACCENT, zorder=4)


def _sizes(axes: Axes, job: SizeJob, *, view: _View, bar: Bar) -> None:
    """Draw overhang and gripped length below, depth or reach above."""
    units = job.units
    row = 0.1 * (bar.overhang_mm + (bar.gripped_mm or view.seat))
    low, high = view.bottom - row, view.top + 0.7 * row
    out = f"{size_text_of(bar.overhang_mm, units)} {'between centres' if job.between else 'out'}"
    face = view.middle - view.half
    level_size(axes, (0.0, bar.overhang_mm), level=low, text=out, drop=(view.middle - view.block, face))
    if bar.gripped_mm:
        text = f"{size_text_of(bar.gripped_mm, units)} gripped"
        drop = (view.middle - view.block, view.middle - view.block)
        level_size(axes, (-bar.gripped_mm, 0.0), level=low, text=text, drop=drop)
    text = f"{size_text_of(job.reach_mm, units)} {'deep' if job.boring else 'reach'}"
    level_size(
        axes, (view.start, view.start + job.reach_mm), level=high, text=text, drop=(view.top, view.top)
    )
