"""The engaged edge from above, to scale: previous pass, chip, edge, and the force on the tool there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT
from stickout.cli.text.words import THOU_M, force_size
from stickout.fem.force.blade import BLADE
from stickout.fem.force.case import CutCase
from stickout.fem.force.nose import EngagedEdge
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.cli.show.plots.plot_style import AnyAxes

_POINTS: Final = 400


def profile(edge: EngagedEdge, *, height: float, behind: float) -> FloatArray:
    """Return the edge's profile, shape (n, 2): along the feed and out of the work [m].

    Parameters
    ----------
    edge
        The engaged edge.
    height
        How far the straight edge goes up [m].
    behind
        Angle behind the nose bottom at which the arc starts [rad].
    """
    if edge.corners == BLADE:
        return _blade_profile(edge, height)
    r, kappa = edge.nose_radius, edge.edge_angle
    phi = np.linspace(-behind, kappa, _POINTS)
    arc = np.stack([r * np.sin(phi), r * (1 - np.cos(phi))], axis=1)
    rise = max(height - float(arc[-1, 1]), 0.0)
    end = arc[-1] + rise / np.sin(kappa) * np.array([np.cos(kappa), np.sin(kappa)])
    return np.vstack([arc, end])


def _blade_profile(edge: EngagedEdge, height: float) -> FloatArray:
    """Return a blade's profile from wall to wall: along its width and out of the work [m], shape (n, 2)."""
    r, kappa, straight = edge.nose_radius, edge.edge_angle, float(edge.straight_length)
    far, near = np.linspace(np.pi, kappa, _POINTS), np.linspace(kappa, 0.0, _POINTS)
    arcs = [np.stack([r * np.cos(phi), -r * np.sin(phi)], axis=1) for phi in (far, near)]
    arcs[0] -= straight * np.array([np.sin(kappa), np.cos(kappa)])
    line = np.vstack(arcs)
    line -= [line[0, 0], line[:, 1].min()]
    top = max(height, float(line[:, 1].max()))
    return np.vstack([[line[0, 0], top], line, [line[-1, 0], top]])


def chip_outline(edge: EngagedEdge) -> FloatArray:
    """Return the closed outline of the chip's cross section [m], shape (n, 2); its area is ``edge.area``.

    Source
    ------
    Two passes one feed apart, cut off at the uncut surface (computed here).
    """
    depth = float(edge.depth)
    if edge.corners == BLADE:
        now = engaged_line(edge)
        return np.vstack([now, (now + np.array([0.0, edge.feed]))[::-1]])
    now = engaged_line(edge)
    before = profile(edge, height=depth, behind=0.0) - np.array([edge.feed, 0.0])
    before = _below(before, depth)
    # The previous pass counts from the crest that the two leave between them.
    before = before[before[:, 0] >= now[0, 0] - 1e-12]
    return np.vstack([now, before[::-1]])


def engaged_line(edge: EngagedEdge) -> FloatArray:
    """Return the part of the edge that cuts, from its trailing end to the uncut surface [m], shape (n, 2)."""
    if edge.corners == BLADE:
        return _blade_profile(edge, 0.0)[1:-1]
    depth = float(edge.depth)
    return _below(profile(edge, height=depth, behind=float(edge.trailing_angle)), depth)


def middle_of(line: FloatArray) -> FloatArray:
    """Return the point halfway along a line, shape (2,)."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    return np.array([np.interp(along[-1] / 2, along, line[:, axis]) for axis in (0, 1)])


def _below(line: FloatArray, height: float) -> FloatArray:
    """Return the part of a rising line below a height, its end put on it."""
    inside = line[line[:, 1] < height]
    if len(inside) == len(line):
        return line
    at = len(inside)
    share = (height - line[at - 1, 1]) / (line[at, 1] - line[at - 1, 1])
    return np.vstack([inside, line[at - 1] + share * (line[at] - line[at - 1])])


def draw_edge(axes: AnyAxes, case: CutCase, *, units: str = "mm") -> None:
    """Draw the engaged edge and the force in its plane, both to scale, on axes in millimetres or thou."""
    size, name = (THOU_M, "thou") if units == "inch" else (MM, "mm")
    edge, blade = case.edge, case.edge.corners == BLADE
    depth = 3 * case.edge.feed if blade else float(edge.depth)
    chip = chip_outline(edge) / size
    reach = max(float(edge.length), 4 * edge.feed) / size
    tool = profile(edge, height=1.6 * depth, behind=min(1.2, 2 * float(edge.trailing_angle) + 0.6)) / size
    left, right = min(chip[:, 0].min(), tool[0, 0]) - 0.15 * reach, chip[:, 0].max() + 0.5 * reach
    axes.fill(chip[:, 0], chip[:, 1], facecolor=PALE, edgecolor=SOFT, hatch="////", lw=0.8, label="chip")
    axes.plot(tool[:, 0], tool[:, 1], color=INK, lw=2.2, label="edge")
    before = profile(edge, height=depth, behind=float(edge.trailing_angle)) / size
    before += np.array([0.0, edge.feed / size]) if blade else np.array([-edge.feed / size, 0.0])
    axes.plot(before[:, 0], before[:, 1], color=SOFT, ls="--", lw=1.1, label="previous pass")
    if not blade:
        ends = [chip[:, 0].max(), right]
        axes.plot(ends, [depth / size] * 2, color=SOFT, lw=1.1, label="surface before the cut")
    _draw_arrow(axes, case, middle_of(engaged_line(edge)) / size, reach, units)
    axes.set_xlim(left, right)
    axes.set_aspect("equal", adjustable="box", anchor="N")
    axes.set_xlabel(f"{'across the groove' if blade else 'along the feed'}, {name}")
    axes.set_ylabel(f"out of the work, {name}")
    axes.set_title("Engaged edge, to scale")
    axes.figure.legend(*axes.get_legend_handles_labels(), loc="outside lower left", ncols=3, fontsize=8.5)


def _draw_arrow(axes: AnyAxes, case: CutCase, start: FloatArray, reach: float, units: str) -> None:
    """Draw the force on the tool in the plane of feed and passive direction, and its scale."""
    force = case.force
    push = np.array([-force.p, force.f] if case.edge.corners == BLADE else [-force.f, force.p])
    size, name = float(np.linalg.norm(push)), "thou" if units == "inch" else "mm"
    scale = 0.8 * reach / max(size, 1e-12)
    tip = start + push * scale
    axes.plot(*tip, ls="")  # the axes reach to the arrow's tip
    axes.annotate(
        "",
        xy=(tip[0], tip[1]),
        xytext=(start[0], start[1]),
        arrowprops={"arrowstyle": "-|>", "color": ACCENT, "lw": 2.2, "shrinkA": 0, "shrinkB": 0},
    )
    axes.annotate(
        f" {force_size(size, units)} on the tool\n (feed {force_size(abs(force.f), units).split()[0]}, "
        f"passive {force_size(abs(force.p), units).split()[0]})",
        xy=(tip[0], tip[1]),
        color=ACCENT,
        va="bottom",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
        zorder=5,
    )
    axes.plot(
        [], [], color=ACCENT, lw=2.2, label=f"force: {force_size(1 / scale, units)} per {name} of arrow"
    )
    axes.plot(*start, marker="o", ms=7, mfc="white", mec=ACCENT, mew=1.4)
    axes.plot(*start, marker="x", ms=4.5, mec=ACCENT, mew=1.2)
    axes.plot(
        [],
        [],
        marker="x",
        ls="",
        mec=ACCENT,
        label=f"cutting force {force_size(case.force.c, units)}, into the page",
    )
