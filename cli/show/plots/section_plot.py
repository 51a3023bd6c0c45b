"""The end view of the bar, seen from the free end: y right, z up; force arrow, limit against rotation."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT
from stickout.cli.text.words import force_size
from stickout.fem.cut.turned import TurnedBar
from stickout.fem.force.blade import BLADE
from stickout.fem.force.case import CutCase
from stickout.fem.units import MM, MM_PER_INCH
from stickout.meshes.parts import Bar
from stickout.meshes.pieces import outlines_of
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.cli.show.plots.plot_style import AnyAxes

_POINTS: Final = 361


def section_outline(bar: Bar, rotation_deg: float) -> list[FloatArray]:
    """Return outline and bore of the bar's section at a rotation [mm], shape (n, 2) each, columns y and z."""
    turn = float(np.radians(rotation_deg))
    outlines = outlines_of(replace(bar, rotation_deg=0.0))
    rings = [one.ring(_POINTS - 1, turn) / MM for one in outlines if one is not None]
    return [np.vstack([ring, ring[:1]]) for ring in rings]


def draw_section(axes: AnyAxes, bar: Bar, *, rotation_deg: float, size: float = 1.0) -> float:
    """Draw the section and return its greatest radius as drawn; ``size`` scales it."""
    rings = [size * ring for ring in section_outline(bar, rotation_deg)]
    axes.fill(*rings[0].T, facecolor=PALE, edgecolor=INK, lw=1.6, zorder=2)
    for bore in rings[1:]:
        axes.fill(*bore.T, facecolor="white", edgecolor=INK, lw=1.2, zorder=3)
    return float(np.linalg.norm(rings[0], axis=1).max())


def draw_force(axes: AnyAxes, case: CutCase, *, bar: Bar, units: str = "mm") -> None:
    """Draw the force on the tool on the end view, the arrow to scale with its parts named."""
    step, name = (MM_PER_INCH, "in") if units == "inch" else (1.0, "mm")
    radius = draw_section(axes, bar, rotation_deg=bar.rotation_deg, size=1 / step)
    push = case.on_tool[1:]
    size, largest = float(np.linalg.norm(push)), float(np.linalg.norm(case.on_tool))
    scale = 1.6 * radius / largest
    tip = push * scale
    axes.annotate(
        "",
        xy=(tip[0], tip[1]),
        xytext=(0, 0),
        arrowprops={"arrowstyle": "-|>", "color": ACCENT, "lw": 2.2, "shrinkA": 0, "shrinkB": 0},
        zorder=4,
    )
    normal = case.directions.passive[1:]
    # A blade's passive direction runs along its edge: it is fed along the bar, out of this view.
    if np.linalg.norm(normal) > 0.5 and case.edge.corners != BLADE:
        start, end, middle = (size * radius * normal for size in (1.15, 1.75, 1.5))
        arrow = {"arrowstyle": "->", "color": SOFT}
        axes.annotate("", xy=(end[0], end[1]), xytext=(start[0], start[1]), arrowprops=arrow)
        axes.text(
            middle[0],
            middle[1] + 0.08 * radius,
            s="into\nthe work",
            ha="center",
            color=SOFT,
            fontsize=8.5,
        )
    axes.text(
        0.5 * tip[0],
        1.08 * tip[1],
        s=f"{force_size(size, units)} across the bar",
        color=ACCENT,
        ha="center",
        va="top" if tip[1] < 0 else "bottom",
    )
    along = case.on_tool[0]
    axes.text(
        0.0,
        1.9 * radius,
        s=f"along the bar: {force_size(abs(float(along)), units)} "
        f"{'outward' if along > 0 else 'toward the holder'}",
        ha="center",
        color=SOFT,
    )
    per = f"{'0.1 in' if units == 'inch' else '1 mm'} of arrow is"
    drawn = force_size((0.1 if units == "inch" else 1.0) / scale, units)
    _frame(axes, 2.2 * radius, f"Force on the tool, end view\n{per} {drawn}")
    axes.set_xlabel(f"y, {name} (right)")
    axes.set_ylabel(f"z, {name} (up)")


def draw_turned(axes: AnyAxes, turned: TurnedBar, *, bar: Bar) -> None:
    """Draw the margin against rotation of the section as a curve round the end view, good windows shaded."""
    top = max(1.15 * float(turned.margin.max()), 1.0 if turned.margin.max() > 0.4 else 0.0)
    angle = np.radians(np.concatenate([turned.angles_deg, turned.angles_deg + 180.0, [360.0]]) + 90.0)
    margin = np.concatenate([turned.margin, turned.margin, turned.margin[:1]])
    raw = section_outline(bar, 0.0)[0]
    draw_section(
        axes, bar, rotation_deg=turned.now_deg, size=0.22 * top / float(np.linalg.norm(raw, axis=1).max())
    )
    if not turned.alike:
        for start, stop in turned.windows:
            for half in (0.0, 180.0):
                _sector(axes, start + half + 90.0, stop + half + 90.0, top)
    axes.plot(margin * np.cos(angle), margin * np.sin(angle), color=INK, lw=1.8, zorder=4)
    _rings(axes, top)
    _spoke(axes, turned, top)
    _frame(axes, 1.25 * top, "Margin against rotation of the section, end view")
    axes.set_axis_off()


def _sector(axes: AnyAxes, start_deg: float, stop_deg: float, radius: float) -> None:
    """Shade a good window."""
    angle = np.radians(np.linspace(start_deg, stop_deg, 40))
    axes.fill(
        np.concatenate([[0.0], radius * np.cos(angle)]),
        np.concatenate([[0.0], radius * np.sin(angle)]),
        facecolor="#f0e2d4",
        edgecolor=ACCENT,
        hatch="..",
        lw=0.6,
        zorder=1,
    )


def _rings(axes: AnyAxes, top: float) -> None:
    """Draw circles of equal margin with their numbers, the one of margin 1 heavier."""
    step = 10.0 ** np.floor(np.log10(top))
    step = next(s for s in (0.2 * step, 0.5 * step, step, 2 * step) if top / s <= 6)
    for value in np.arange(step, top * 1.001, step):
        one = abs(value - 1.0) < 1e-9
        angle = np.linspace(0, 2 * np.pi, 181)
        axes.plot(
            value * np.cos(angle),
            value * np.sin(angle),
            color=INK if one else SOFT,
            lw=1.2 if one else 0.5,
            ls="--" if one else ":",
            zorder=2,
        )
        axes.text(0.0, -value, s=f"{value:.3g}", ha="center", va="center", fontsize=8, color=SOFT, zorder=5,
                  bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})  # fmt: skip


def _spoke(axes: AnyAxes, turned: TurnedBar, top: float) -> None:
    """Mark rotations round the rim, and the one the bar has now."""
    for rotation in range(0, 360, 30):
        angle = np.radians(rotation + 90.0)
        axes.text(
            1.12 * top * np.cos(angle),
            1.12 * top * np.sin(angle),
            s=f"{rotation % 180}°",
            ha="center",
            va="center",
            fontsize=8.5,
            color=SOFT,
        )
    angle = np.radians(turned.now_deg + 90.0)
    way = np.array([np.cos(angle), np.sin(angle)])
    axes.plot(
        [-top * way[0], top * way[0]], [-top * way[1], top * way[1]], color=ACCENT, lw=1.2, ls="-.", zorder=3
    )


def _frame(axes: AnyAxes, size: float, title: str) -> None:
    """Set the limits of an end view, equal both ways."""
    axes.set_xlim(-size, size)
    axes.set_ylim(-size, size)
    axes.set_aspect("equal")
    axes.set_title(title)
