"""The picture of ``work``: the part in its holding to scale, and the stiffness along it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, log_scale, written_sheet
from stickout.cli.text.words import margin_figure, stiffness_unit
from stickout.fem.cut.along import CutStation
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM, MM_PER_INCH
from stickout.fem.work.answer import WorkAnswer

if TYPE_CHECKING:
    from stickout.cli.show.plots.plot_style import AnyAxes

# Sizes of what holds the part, in its greatest diameters; of what is hidden under it, a length of jaw in mm.
_JAW: Final = (0.9, 0.35)
_JAW_MM: Final = 20.0
_CENTRE: Final = 0.7
_FINGER: Final = (0.5, 0.09)
# Part of the length that a figure beside the curve takes.
_ROOM: Final = 0.07
METAL: Final = "#c9c9c9"
# Margins above it are drawn as this much: they are quiet whatever their size.
_MOST: Final = 10.0


def draw_work(answer: WorkAnswer, *, path: Path, cuts: Sequence[CutStation] = ()) -> None:
    """Draw the part in its holding, and the stiffness along it, to a file.

    Parameters
    ----------
    answer
        The answer.
    path
        The file.
    cuts
        The cut at places along the part: its margin stands beside each.
    """
    scale = MM_PER_INCH if answer.setup.units == "inch" else 1.0
    at = answer.stations / (MM * scale)
    size, unit = stiffness_unit(answer.setup.units)
    low, likely, high = answer.stiffness / size
    title = answer.setup.title or "Untitled set-up"
    with written_sheet(7.2, 7.4 if cuts else 5.6, title=title, path=path) as figure:
        rows = (2, 3, 2) if cuts else (2, 3)
        part, axes, *below = figure.subplots(len(rows), 1, height_ratios=rows)
        for one in below:
            _draw_margins(one, cuts, scale=scale, end=float(at[-1]))
        if answer.setup.work is not None:
            _draw_part(part, answer.setup.work, scale=scale)
        axes.fill_between(at, low, y2=high, color=PALE, label="as chucks and centres vary")
        axes.plot(at, likely, color=INK, label="likely")
        axes.plot(
            at[answer.worst], likely[answer.worst], ls="", marker="o", color=ACCENT, label="gives most here"
        )
        log_scale(axes)
        for one in _apart(cuts, answer):
            beside = float(likely[abs(at * scale - one.at_mm).argmin()])
            text = margin_figure(one.margin) if one.margin < 100 else "quiet"
            axes.annotate(
                text, (one.at_mm / scale, beside), xytext=(4, 7), textcoords="offset points", fontsize=8
            )
        axes.set_xlabel(f"from the headstock, {'in' if scale > 1 else 'mm'}")
        axes.set_ylabel(f"stiffness, {unit}")
        axes.legend(frameon=False, title="figures: margin of the cut" if cuts else None)


def _draw_part(axes: AnyAxes, work: Work, *, scale: float) -> None:
    """Draw the part to scale with jaws, centres, steadies and the places of the cut."""
    size = max(diameter for _, _, diameter, _ in sections(work))
    axes.set_aspect("equal", adjustable="box")
    axes.set_axis_off()
    draw_holding(axes, work, scale=scale)
    for start, stop, diameter, bore in sections(work):
        _box(axes, (start, stop), (-diameter / 2, diameter / 2), color=METAL, scale=scale)
        if bore:
            _box(axes, (start, stop), (-bore / 2, bore / 2), color="white", scale=scale)
    axes.plot(
        [-0.1 * size / scale, (work.length_mm + 0.1 * size) / scale], [0, 0], ls="-.", color=INK, lw=0.6
    )
    for place in work.places_mm:
        axes.annotate(
            "cut",
            (place / scale, -radius_at(work, place) / scale),
            xytext=(0, -26),
            textcoords="offset points",
            ha="center",
            color=ACCENT,
            fontsize=8,
            arrowprops={"arrowstyle": "-|>", "color": ACCENT},
        )


def draw_holding(axes: AnyAxes, work: Work, *, scale: float = 1.0) -> None:
    """Draw what holds a part, its axis level and the headstock on the left: jaws, centres, steadies.

    Parameters
    ----------
    axes
        Where.
    work
        The part.
    scale
        Millimetres in a unit of the axes.
    """
    size = max(diameter for _, _, diameter, _ in sections(work))
    if work.held == "between centres":
        _cone(axes, 0.0, size, point=1, scale=scale)
        axes.text(-_CENTRE * size / scale, 0.62 * size / scale, s="headstock centre", ha="right", fontsize=8)
    else:
        _jaws(axes, work, size, scale=scale)
    if work.held != "chuck":
        _cone(axes, work.length_mm, size, point=-1, scale=scale)
        axes.text((work.length_mm + _CENTRE * size) / scale, 0.62 * size / scale, s="tailstock", fontsize=8)
    for one in work.steadies:
        radius = radius_at(work, one.at_mm)
        for way in (-1, 1):
            ends = (way * radius, way * (radius + _FINGER[0] * size))
            half = _FINGER[1] * size
            _box(axes, (one.at_mm - half, one.at_mm + half), ends, color=INK, scale=scale)
        top = (radius + _FINGER[0] * size) / scale
        axes.text(one.at_mm / scale, top, s="steady", ha="center", va="bottom", fontsize=8)


def _draw_margins(axes: AnyAxes, cuts: Sequence[CutStation], *, scale: float, end: float) -> None:
    """Draw the margin of the cut along the part, before and after the pass; above one is quiet."""
    at = [one.at_mm / scale for one in cuts]
    for values, look, name in (
        ([one.margin for one in cuts], "-", "before the pass"),
        ([one.after for one in cuts], "--", "once it is turned down"),
    ):
        axes.plot(at, [min(one, _MOST) for one in values], ls=look, marker="o", color=INK, ms=3, label=name)
    axes.axhline(1.0, color=ACCENT, lw=0.8)
    axes.set_xlim(-0.02 * end, 1.02 * end)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("margin, quiet above 1")
    axes.legend(frameon=False)


def _apart(cuts: Sequence[CutStation], answer: WorkAnswer) -> list[CutStation]:
    """Return the cuts whose figures do not stand on each other."""
    room, out = _ROOM * float(answer.stations[-1]) / MM, list[CutStation]()
    for one in cuts:
        if not out or one.at_mm - out[-1].at_mm >= room:
            out.append(one)
    return out


def _jaws(axes: AnyAxes, work: Work, size: float, *, scale: float) -> None:
    """Draw two jaws before the body of the chuck, and what they grip of the part."""
    grip = work.jaw_length_mm or _JAW_MM
    radius = sections(work)[0][2] / 2
    _box(axes, (-grip, 0.0), (-radius, radius), color=METAL, scale=scale)
    bore = sections(work)[0][3] / 2
    if bore:
        _box(axes, (-grip, 0.0), (-bore, bore), color="white", scale=scale)
    for way in (-1, 1):
        outer = way * (radius + _JAW[1] * size)
        _box(axes, (-grip, 0.0), (way * radius, outer), color=INK, scale=scale)
    body = radius + _JAW[0] * size
    _box(axes, (-grip - 0.6 * size, -grip), (-body, body), color=PALE, scale=scale)
    axes.text((-grip - 0.3 * size) / scale, body / scale, s="chuck", ha="center", va="bottom", fontsize=8)


def _cone(axes: AnyAxes, at: float, size: float, *, point: int, scale: float) -> None:
    """Draw a centre whose point looks along ``point`` into the part."""
    back, half = at - point * _CENTRE * size, 0.4 * size
    x = [at + point * 0.15 * size, back, back]
    axes.fill([one / scale for one in x], [0, half / scale, -half / scale], color=INK, zorder=3)


def _box(
    axes: AnyAxes,
    x: tuple[float, float],
    y: tuple[float, float],
    *,
    color: str,
    scale: float,
) -> None:
    """Fill a rectangle given in mm."""
    axes.fill_between([one / scale for one in x], y[0] / scale, y2=y[1] / scale, color=color, lw=0, zorder=2)


def radius_at(work: Work, at_mm: float) -> float:
    """Return the radius of the part at a place [mm]."""
    return next(diameter for start, stop, diameter, _ in sections(work) if start <= at_mm <= stop) / 2
