"""Charts written straight as SVG against Matplotlib: limits, numbers on axes, places of what is drawn."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import matplotlib as mpl
import numpy as np
import pytest
from cutting_cases import BORE, FLATTED, answer
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator, ScalarFormatter

from stickout.cli.show.chart.panel import Panel
from stickout.cli.show.chart.sheet import Sheet
from stickout.cli.show.chart.span import Span, even_ticks, ratio_ticks
from stickout.cli.show.plots.edge_plot import draw_edge
from stickout.cli.show.plots.plot_style import sheet, written_sheet
from stickout.cli.show.plots.plots import draw_cut
from stickout.cli.show.plots.section_plot import draw_force, draw_turned
from stickout.cli.show.plots.speed_plot import draw_speeds
from stickout.fem.force.case import case_of

SVG = "{http://www.w3.org/2000/svg}"


def drawn(name: str, axes: Any) -> None:
    """Draw one of the house's plots on axes of either kind."""
    if name == "speeds":
        draw_speeds(axes, answer("round"))
    elif name == "edge":
        draw_edge(axes, case_of(BORE))
    elif name == "force":
        draw_force(axes, case_of(BORE), bar=FLATTED.bar)
    else:
        draw_turned(axes, answer("flatted").turned, bar=FLATTED.bar)


@pytest.mark.parametrize("name", ["speeds", "edge", "force", "turned"])
def test_a_plot_reaches_as_far_and_says_the_same(name: str) -> None:
    """The same axes from end to end, the same words on them, the same names and title."""
    with sheet(6, 4, title="") as figure:
        theirs = figure.subplots()
        drawn(name, theirs)
        figure.draw_without_rendering()
        limits = [*theirs.get_xlim(), *theirs.get_ylim()]
    ours = Sheet(6, 4, title="", size=8.5, title_size=8.5)
    panel = ours.subplots()
    drawn(name, panel)
    x, y = panel.spans()
    assert [x.low, x.high, y.low, y.high] == pytest.approx(limits, rel=1e-9)
    named = [theirs.get_xlabel(), theirs.get_ylabel(), theirs.get_title(loc="left")]
    assert [*panel.labels, panel.title] == named
    said = "".join(ElementTree.fromstring(ours.svg()).itertext())
    for one in theirs.texts:
        assert "".join(one.get_text().split("\n")) in said


def test_the_arrow_on_paper_points_as_the_force() -> None:
    """Principle: on axes to one scale a direction stays itself; paper counts downwards."""
    case = case_of(BORE)
    chart = Sheet(5, 5, title="", size=8.5, title_size=8.5)
    draw_force(chart.subplots(), case, bar=FLATTED.bar)
    red = [
        one
        for one in ElementTree.fromstring(chart.svg()).iter(f"{SVG}path")
        if one.get("stroke") == "#b5123e"
    ]
    [line] = [one.get("d") or "" for one in red]
    (x0, y0), (x1, y1) = ([float(v) for v in pair.split()] for pair in re.split("[ML]", line)[1:])
    way, push = np.array([x1 - x0, y0 - y1]), case.on_tool[1:]
    assert way / np.linalg.norm(way) == pytest.approx(push / np.linalg.norm(push), abs=2e-3)


def test_numbers_of_an_even_axis_are_matplotlibs() -> None:
    """The same round numbers, written alike, on a hundred axes of any size."""
    rng = np.random.default_rng(3)
    for _ in range(100):
        low = float(rng.normal()) * 10 ** float(rng.uniform(-3, 3))
        span = Span(low, low + 10 ** float(rng.uniform(-3, 3)))
        most = int(rng.integers(2, 10))
        at, labels = even_ticks(span, most=most)
        locator = MaxNLocator(nbins=most, steps=[1, 2, 2.5, 5, 10])
        theirs = np.asarray(locator.tick_values(span.low, span.high))
        inside = theirs[(theirs >= span.low) & (theirs <= span.high)]
        assert at == pytest.approx(inside, abs=1e-9 * span.length)
        assert [float(one.replace("\N{MINUS SIGN}", "-")) for one in labels] == pytest.approx(at.tolist())
        if len(at) > 1 and 1e-3 < np.abs(at).max() < 1e3:
            writer = ScalarFormatter(useOffset=False)
            writer.create_dummy_axis()
            writer.set_locs(list(at))
            assert labels == [writer(one) for one in at]


def test_numbers_by_ratios_thin_out() -> None:
    """1, 2 and 5 where there is room; powers of ten alone where there is not."""
    span = Span(0.4, 30.0, log=True)
    assert ratio_ticks(span, points=120.0, size=8.0).tolist() == pytest.approx([0.5, 1, 2, 5, 10, 20])
    assert ratio_ticks(span, points=30.0, size=8.0).tolist() == [1, 10]


@pytest.mark.parametrize("what", ["round", "flatted"])
def test_panels_stay_on_the_paper_and_off_each_other(what: str, tmp_path: Path) -> None:
    """Every number and name lies on the sheet; axes that stand side by side share no place."""
    path = tmp_path / "cut.svg"
    draw_cut(answer(what), path, paper=True)
    root = ElementTree.parse(path).getroot()
    wide, high = (float(one) for one in root.get("viewBox", "").split()[2:])
    for one in root.iter(f"{SVG}text"):
        assert 0 <= float(one.get("x", "-1")) <= wide
        assert 0 <= float(one.get("y", "-1")) <= high
    boxes = [
        [float(rect.get(key, "nan")) for key in ("x", "width")]
        for rect in root.iterfind(f".//{SVG}clipPath/{SVG}rect")
    ]
    assert all(left > 0 and width > 0.2 * wide for left, width in boxes)
    assert all(a[0] + a[1] < b[0] for a, b in pairwise(boxes))


def test_the_file_is_the_same_each_time_and_titles_are_words(tmp_path: Path) -> None:
    """Principle: nothing of time or chance goes in; what stands in a title cannot become a tag."""
    for name in ("a", "b"):
        with written_sheet(4, 3, title="<b> & $x$", path=tmp_path / f"{name}.svg") as figure:
            figure.subplots().plot([0, 1], [1, 2], label="a < b")
    text = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert text == (tmp_path / "b.svg").read_text(encoding="utf-8")
    assert "".join(ElementTree.fromstring(text).itertext()).startswith("<b> & $x$")


def test_a_legend_stands_where_it_covers_least() -> None:
    """Principle: with points in three corners it takes the fourth, as Matplotlib's own does."""
    corners = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)]
    for free in corners:
        places = [one for one in corners if one != free]
        chart = Sheet(5, 4, title="", size=8.5, title_size=8.5)
        panel: Panel = chart.subplots()
        with mpl.rc_context({"font.size": 8.5}):
            figure = Figure(figsize=(5, 4))
            theirs = figure.subplots()
            for axes in (panel, theirs):
                for x, y in places:
                    axes.plot([x], [y], ls="", marker="o", label="a point of them")
                axes.set_xlim(-0.1, 1.1)
                axes.set_ylim(-0.1, 1.1)
                axes.legend(frameon=False)
            figure.draw_without_rendering()
            box = theirs.get_legend().get_window_extent().transformed(theirs.transAxes.inverted())
        words = next(
            one
            for one in ElementTree.fromstring(chart.svg()).iter(f"{SVG}text")
            if one.text == "a point of them"
        )
        ours = (float(words.get("x", "0")) > 5 * 36, float(words.get("y", "0")) < 4 * 36)
        assert (
            ours
            == (box.x0 + box.width / 2 > 0.5, box.y0 + box.height / 2 > 0.5)
            == (free[0] == 1, free[1] == 1)
        )
