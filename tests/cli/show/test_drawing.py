"""The set-up drawing: to scale, whole, well-formed, readable in grey."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES

from stickout.cli.show.drawing.drawing import WIDTH_MM, Push, scale_words, set_up_drawing
from stickout.cli.show.drawing.pen import INK, PUSH, SOFT
from stickout.fem.setup.file import parse_setup, read_setup
from stickout.fem.setup.parts import Setup

SVG = "{http://www.w3.org/2000/svg}"
DOWN = Push(np.array([0.0, 0.0, -1.0]), 40.0)
SLOT = """
title = "Slot"
units = "mm"
[bar]
section = "square"
width = 12
overhang = 35
gripped = 60
material = "steel"
[edge]
end_distance = 2
offset_z = 4
mass_g = 3
[grip]
style = "slot"
screws = 3
screw_diameter = 8
screw_spacing = 18
first_screw = 12
[shim]
material = "annealed copper"
thickness = 1
"""
SLEEVE = """
title = "Sleeve"
units = "mm"
[bar]
section = "round"
diameter = 16
overhang = 90
gripped = 50
material = "steel"
[grip]
style = "sleeve"
block_width = 30
block_height = 32
wall = 8
block_material = "steel"
split = true
[wrap]
material = "tin-lead solder"
thickness = 2
start = 40
length = 30
bond = "loose"
"""
TILTED = """
title = "Tilted"
units = "mm"
[bar]
section = "rectangle"
width = 10
height = 16
rotation_deg = 20
overhang = 60
material = "steel"
[grip]
style = "rigid"
"""
TEXTS = {"slot": SLOT, "sleeve": SLEEVE, "tilted": TILTED}
ALL = [*sorted(path.stem for path in EXAMPLES.glob("*.toml")), *TEXTS]


def setup_named(name: str) -> Setup:
    """Return a set-up of this file or of an example."""
    return parse_setup(TEXTS[name]).setup if name in TEXTS else read_setup(EXAMPLES / f"{name}.toml").setup


def drawn(setup: Setup, push: Push = DOWN) -> ElementTree.Element:
    """Return the drawing, parsed."""
    return ElementTree.fromstring(set_up_drawing(setup, push))


def words_in(svg: ElementTree.Element) -> list[str]:
    """Return every text of a drawing."""
    return [text.text or "" for text in svg.iter(f"{SVG}text")]


def boxes(svg: ElementTree.Element, mark: str) -> list[dict[str, float]]:
    """Return the rectangles whose look holds a mark, swatches of the legend left out (6 mm wide)."""
    found = [one for one in svg.iter(f"{SVG}rect") if mark in one.get("fill", "")]
    sizes = [{key: float(one.get(key, "nan")) for key in ("x", "y", "width", "height")} for one in found]
    return [one for one in sizes if one["width"] != 6.0]


@pytest.mark.parametrize("name", ALL)
def test_everything_lies_on_the_paper(name: str) -> None:
    """Well-formed, nothing outside the sheet (turned groups aside), nothing asked of any other file."""
    setup = setup_named(name)
    text = set_up_drawing(setup, DOWN)
    svg = ElementTree.fromstring(text)
    _, _, width, height = (float(one) for one in svg.get("viewBox", "").split())
    assert width == WIDTH_MM
    assert height < 150  # leaves half a page for the answer
    for one in svg:
        if one.tag in (f"{SVG}g", f"{SVG}defs"):
            continue
        for path in [one, *one.iter()]:
            numbers = [float(n) for n in re.findall(r"-?\d+\.\d+", path.get("d", ""))]
            assert all(0 <= x <= width for x in numbers[0::2])
            assert all(0 <= y <= height for y in numbers[1::2])
    assert "http" not in text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "href" not in text


def test_lengths_are_to_scale() -> None:
    """A bar of 60 + 80 mm, 16 mm thick, at 1 : 1 is a box of just that size; its numbers stand beside it."""
    svg = drawn(setup_named("boring_bar_16mm"))
    [bar] = boxes(svg, "#ececec")
    assert (bar["width"], bar["height"]) == pytest.approx((140.0, 16.0), abs=1e-3)  # three decimals written
    assert svg.get("width") == f"{WIDTH_MM:.0f}mm"
    assert {"60 gripped", "80 out", "Ø 16"} <= set(words_in(svg))
    assert "Dimensions in mm. Scale 1 : 1 when printed at full size." in words_in(svg)


def test_a_stepped_bar_in_its_proportions() -> None:
    """20 mm turned down to 12 mm at half the overhang."""
    thick, thin = boxes(drawn(setup_named("stepped_bar")), "#ececec")
    assert thick["width"] == pytest.approx(thin["width"], abs=2e-3)
    assert thin["height"] / thick["height"] == pytest.approx(12 / 20, abs=1e-3)
    assert {"Ø 20", "Ø 12", "40", "80 out"} <= set(words_in(drawn(setup_named("stepped_bar"))))


def test_a_large_bar_is_drawn_smaller() -> None:
    """Ten times the size gives a smaller usual scale, and the number of the dimension does not change."""
    setup = setup_named("boring_bar_16mm")
    large = replace(setup, bar=replace(setup.bar, diameter_mm=160, overhang_mm=800, gripped_mm=600))
    svg = drawn(large)
    [bar] = boxes(svg, "#ececec")
    assert bar["width"] == pytest.approx(140.0, abs=1e-3)
    assert "800 out" in words_in(svg)
    assert "Dimensions in mm. Scale 1 : 10 when printed at full size." in words_in(svg)


def test_inches() -> None:
    """Numbers as the reader of the set-up writes them."""
    words = words_in(drawn(setup_named("inch_bar")))
    assert {"1.5 out", "1.25 gripped", "Ø 0.375"} <= set(words)
    assert scale_words(2.0, "inch") == "Dimensions in inches. Scale 2 : 1 when printed at full size."


def test_slot_shim_and_edge() -> None:
    """Three screws 18 mm apart, the first 12 mm behind the face; a shim of 1 mm; the edge off the end."""
    svg = drawn(setup_named("slot"))
    words = set(words_in(svg))
    assert {"12", "18", "2", "shim 1", "screw Ø 8", "35 out"} <= words
    screws = [one["x"] for one in boxes(svg, "#ffffff") if one["width"] == 8.0]
    assert len(screws) == 4  # three on the side view, then one on the end view
    [bar] = boxes(svg, "#ececec")
    face = bar["x"] + 60
    middles = [x + 4 - face for x in screws[:3]]
    assert middles == pytest.approx([-12, -30, -48], abs=1e-3)
    shims = boxes(svg, "#8c8c8c")
    assert sorted(one["width"] for one in shims) == pytest.approx([12, 60], abs=1e-3)
    assert {round(one["height"], 3) for one in shims} == {1.0}
    assert any("3 g ride on it" in one and "4 mm above the axis" in one for one in words)


def test_sleeve_and_wrap() -> None:
    """Block 30 x 32 mm with 8 mm below the bar; a wrap from 40 mm on, 30 mm long, 2 mm thick."""
    svg = drawn(setup_named("sleeve"))
    assert {"30", "32", "wall 8", "40", "30 wrap", "wrap 2 thick"} <= set(words_in(svg))
    side, end = boxes(svg, "dr-holder")[-2:]
    assert (side["width"], side["height"]) == pytest.approx((50, 32), abs=1e-3)
    assert (end["width"], end["height"]) == pytest.approx((30, 32), abs=1e-3)
    wraps = boxes(svg, "dr-wrap")
    assert [(one["width"], one["height"]) for one in wraps] == [pytest.approx((30, 2), abs=1e-3)] * 2


def test_turned_flats() -> None:
    """The flats of a bar turned by 30 degrees: its top edge lies where trigonometry puts it."""
    setup = setup_named("flatted_bar_30deg")
    [bar] = boxes(drawn(setup), "#ececec")
    # Flats at 6.5 mm of a radius of 8 end acos(6.5 / 8) = 35.7 degrees from their normal; turned by 30
    # degrees that corner, 5.7 degrees past upright, is the highest point.
    assert bar["height"] == pytest.approx(2 * 8 * np.cos(np.arccos(6.5 / 8) - np.radians(30)), abs=2e-3)


@pytest.mark.parametrize("direction", [(0, 0, -1), (0, 0, 1), (-0.2, -0.3, -0.93), (0.5, 0.5, 0.7)])
def test_the_arrow_points_along_the_force(direction: tuple[float, float, float]) -> None:
    """On the side view along x and z, on the end view along y and z; it ends at the edge."""
    push = np.array(direction) / np.linalg.norm(direction)
    svg = drawn(setup_named("boring_bar_16mm"), Push(push))
    lines = [one.get("d", "") for one in svg.iter(f"{SVG}path") if one.get("stroke") == PUSH]
    side, end, _ = ([float(n) for n in re.findall(r"-?\d+\.\d+", one)] for one in lines)
    for (x, y, x2, y2), across in ((side, push[0]), (end, push[1])):
        assert [x2 - x, y - y2] == pytest.approx(
            np.array([across, push[2]]) * np.hypot(x2 - x, y2 - y) / np.hypot(across, push[2]), abs=2e-3
        )


def test_the_force_acts_where_the_edge_is_drawn() -> None:
    """A boring tool's edge stands out of the bar on the side of the wall, past its radius of 8 mm."""
    setup = setup_named("boring_bar_16mm")
    svg = drawn(setup)
    _, edge, _ = (one for one in svg.iter(f"{SVG}circle") if one.get("fill") == PUSH)  # side, end, legend
    [bar] = [one.get("d", "") for one in svg.iter(f"{SVG}path") if one.get("fill") == "#fafafa"]
    rim = np.array([float(n) for n in re.findall(r"-?\d+\.\d+", bar)]).reshape(-1, 2)
    assert float(edge.get("cx", "0")) > rim[:, 0].max()
    assert float(edge.get("cy", "0")) == pytest.approx((rim[:, 1].min() + rim[:, 1].max()) / 2, abs=2e-3)
    assert any("computed on the axis" in one for one in words_in(svg))
    assert setup.edge.offset_y_mm == 0


def test_readable_in_grey() -> None:
    """Lines and the accent against white: contrast above 4.5 to 1 (WCAG 2, from memory)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))

    for colour in (INK, SOFT, PUSH):
        assert 1.05 / (luminance(colour) + 0.05) > 4.5


def test_words_of_the_user_cannot_break_the_picture() -> None:
    """A material named with angle brackets stays text."""
    text = Path(EXAMPLES / "boring_bar_16mm.toml").read_text(encoding="utf-8")
    own = text.replace('material = "steel"', 'material = "<b>&odd"')
    own += '\n[materials."<b>&odd"]\nyoungs_modulus_gpa = 200\npoisson_ratio = 0.3\n'
    own += "density_kg_m3 = 7800\nloss_factor = 0.001\n"
    words = words_in(drawn(parse_setup(own).setup))
    assert any("<b>&odd" in one for one in words)
