"""What the pictures of a cut draw: areas, outlines, angles. How they look was looked at by eye."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from cutting_cases import BORE, FLATTED, answer
from matplotlib.figure import Figure

from stickout.cli.show.plots import plots
from stickout.cli.show.plots.edge_plot import chip_outline, draw_edge, middle_of, profile
from stickout.cli.show.plots.section_plot import draw_force, draw_turned, section_outline
from stickout.cli.show.plots.speed_plot import draw_speeds
from stickout.fem.force.case import case_of
from stickout.meshes.parts import Bar
from stickout.meshes.tagged import FloatArray


def area(outline: FloatArray) -> float:
    """Return the area inside a closed outline, shape (n, 2), by the shoelace rule."""
    x, y = outline.T
    return abs(0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))))


@pytest.mark.parametrize(
    ("depth", "nose", "angle"), [(0.2, 0.4, 95.0), (0.05, 0.8, 95.0), (1.0, 0.4, 95.0), (0.5, 0.2, 60.0)]
)
def test_the_chip_that_is_drawn_has_the_chips_area(depth: float, nose: float, angle: float) -> None:
    """Area of fem.force.nose (itself held to a brute-force value) against the polygon of the picture."""
    case = case_of(replace(BORE, depth_mm=depth, nose_radius_mm=nose, edge_angle_deg=angle))
    # Four hundred chords an arc, and the tip of a crest: some thousandths.
    assert area(chip_outline(case.edge)) == pytest.approx(float(case.edge.area), rel=5e-3)


def test_the_edge_is_a_nose_and_a_straight_line() -> None:
    """The lowest point is the nose bottom; the straight part leaves at the edge angle."""
    edge = case_of(replace(BORE, depth_mm=1.0, edge_angle_deg=60.0)).edge
    line = profile(edge, height=1e-3, behind=0.3)
    assert line[:, 1].min() == pytest.approx(0.0, abs=1e-7)
    run, rise = line[-1] - line[-2]
    assert np.degrees(np.arctan2(rise, run)) == pytest.approx(60.0)
    assert line[-1, 1] == pytest.approx(1e-3)


@pytest.mark.parametrize(
    ("bar", "expected"),
    [
        (Bar(overhang_mm=80, diameter_mm=16), np.pi * 64),
        (Bar(overhang_mm=80, section="rectangle", width_mm=10, height_mm=20), 200.0),
        (Bar(overhang_mm=80, section="flatted", diameter_mm=16, across_flats_mm=14), 190.598),
    ],
)
def test_the_section_is_drawn_true_to_size_at_any_rotation(bar: Bar, expected: float) -> None:
    """Areas of circle and rectangle; 190.598 mm2 is the flatted bar of e.flats."""
    for rotation in (0.0, 37.0, 90.0):
        ring = section_outline(bar, rotation)[0]
        assert area(ring) == pytest.approx(expected, rel=1e-4)  # a circle in 360 chords
    flat = section_outline(bar, 90.0)[0]
    assert np.ptp(flat[:, 0]) == pytest.approx(np.ptp(section_outline(bar, 0.0)[0][:, 1]), rel=1e-4)


def test_the_arrow_on_the_end_view_points_as_the_force() -> None:
    """Drawn from the axis along (y, z) of the force on the tool."""
    case = case_of(BORE)
    axes = Figure().subplots()
    draw_force(axes, case, bar=Bar(overhang_mm=80, diameter_mm=16))
    arrows = [one for one in axes.texts if getattr(one, "arrow_patch", None) is not None]
    tip = np.array(arrows[0].xy)
    assert tip / np.linalg.norm(tip) == pytest.approx(case.on_tool[1:] / np.linalg.norm(case.on_tool[1:]))


def test_the_direction_plot_puts_rotation_zero_upright() -> None:
    """At rotation r the section's height axis is at 90 + r degrees from y, as a set-up counts it."""
    found = answer("flatted")
    axes = Figure().subplots()
    draw_turned(axes, found.turned, bar=FLATTED.bar)
    curve = max((line.get_xydata() for line in axes.lines), key=len)
    size = np.linalg.norm(curve, axis=1)
    best = np.degrees(np.arctan2(*curve[np.argmax(size)][::-1])) - 90.0
    peak = float(found.turned.angles_deg[np.argmax(found.turned.margin)])
    assert (best - peak) % 180.0 == pytest.approx(0.0, abs=1e-6) or (best - peak) % 180.0 > 180.0 - 1e-6
    assert size.max() == pytest.approx(found.turned.best)


def test_lobes_are_drawn_only_where_a_turn_holds_few_waves() -> None:
    """A slow lathe gets no curve; one with a dozen waves a turn gets it, never below the absolute limit."""
    found = answer("round")
    axes = Figure().subplots()
    draw_speeds(axes, found)
    assert max(len(line.get_xdata()) for line in axes.lines) < 100
    fast = replace(found.verdict.speeds[0], speed_rpm=9000.0, waves=60 * found.chatter_hz / 9000.0)
    quick = replace(found, verdict=replace(found.verdict, speeds=(fast,), worst=0))
    axes = Figure().subplots()
    draw_speeds(axes, quick)
    curve = max((np.asarray(line.get_ydata()) for line in axes.lines), key=len)
    assert len(curve) >= 100
    assert curve.min() >= float(found.limit.margin) * (1 - 1e-6)


def test_the_edge_plot_has_its_axes_named() -> None:
    """Labels with units, and a scale for the arrow."""
    axes = Figure(layout="constrained").subplots()
    draw_edge(axes, case_of(BORE))
    assert "mm" in axes.get_xlabel()
    assert "mm" in axes.get_ylabel()
    [legend] = axes.figure.legends
    assert any("N per mm of arrow" in one.get_text() for one in legend.get_texts())


@pytest.mark.parametrize(("depth", "nose"), [(0.2, 0.4), (1.0, 0.4), (0.05, 0.8)])
def test_the_force_starts_on_the_edge(depth: float, nose: float) -> None:
    """Where the arrow starts lies on the nose's circle or on the straight edge, not somewhere in the chip.

    Circle of radius r about (0, r); straight edge of slope tan kappa through the end of the arc (geometry).
    """
    case = case_of(replace(BORE, depth_mm=depth, nose_radius_mm=nose, edge_angle_deg=95.0))
    axes = Figure().subplots()
    draw_edge(axes, case)
    [arrow] = [one for one in axes.texts if getattr(one, "arrow_patch", None) is not None]
    x, y = arrow.xyann
    kappa = np.radians(95.0)
    off_arc = abs(np.hypot(x, y - nose) - nose)
    end = nose * np.array([np.sin(kappa), 1 - np.cos(kappa)])
    off_line = abs((x - end[0]) * np.sin(kappa) - (y - end[1]) * np.cos(kappa))
    assert min(off_arc, off_line) < 1e-4 * nose
    assert 0.0 < y < depth


def test_half_way_along_a_bent_line() -> None:
    """Three along, one up: half of four is two along (by hand)."""
    line = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 1.0]])
    assert middle_of(line) == pytest.approx([2.0, 0.0])


def test_a_round_bar_gets_no_rotation_plot(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Turning a round bar changes nothing: one view; a flatted one has the end view beside it."""
    drawn = []
    monkeypatch.setattr(plots, "draw_turned", lambda *_, **__: drawn.append(1))
    plots.draw_cut(answer("round"), tmp_path / "round.png")
    assert drawn == []
    plots.draw_cut(answer("flatted"), tmp_path / "flatted.png")
    assert drawn == [1]


def test_margins_are_drawn_where_no_spindle_speed_is_known() -> None:
    """Without the diameter of the work the axis is that of cutting speeds: all that were tried are on it."""
    found = answer("bed")
    margins = [replace(one, speed_rpm=None, waves=float("inf")) for one in found.verdict.speeds]
    bare = replace(found, verdict=replace(found.verdict, speeds=tuple(margins), speeds_assumed=True))
    axes = Figure().subplots()
    draw_speeds(axes, bare)
    assert axes.get_xlabel() == "cutting speed, m/min (the diameter of the work is not given)"
    drawn = axes.containers[0].lines[0]
    assert drawn.get_xdata() == pytest.approx([60 * one.cutting_speed for one in margins])
    assert drawn.get_ydata() == pytest.approx([one.margin.likely for one in margins])
