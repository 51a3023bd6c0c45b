"""What the pages draw, point by point: their own scripts run in a browser on numbers written here."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import house
import numpy as np
import pytest
from browser import browser

PAGES = house.ROOT / "cli" / "show" / "pages"
NAMES = ("viewer_shape", "viewer_gl", "viewer_scene", "viewer_panel", "viewer_path", "page_plots")
HTML = '<svg id="path"></svg><p id="path-words"></p><svg id="dial"></svg>'
# A square section of 10 mm, edge at its right upper corner, force down; two modes, one sideways and one up.
MODEL = {
    "edge": [0.08, 0.005, 0.005],
    "force": [0.0, 0.0, -1.0],
    "outline": [[[5, 5], [-5, 5]], [[-5, 5], [-5, -5]], [[-5, -5], [5, -5]], [[5, -5], [5, 5]]],
    "modes": [
        {"edge": [0.0, 3.0, 1.0], "twin": 1, "way": "sideways", "still": False},
        {"edge": [0.0, -1.0, 2.0], "twin": 0, "way": "up", "still": False},
    ],
}


@pytest.fixture(scope="module")
def page() -> Iterator[Any]:
    """Return an empty page with the scripts loaded."""
    with browser() as one:
        made = one.new_page()
        made.set_content(HTML)
        made.add_script_tag(
            content="\n".join((PAGES / f"{name}.js").read_text(encoding="utf-8") for name in NAMES)
        )
        yield made


def test_the_end_view_shows_right_on_the_right_and_up_above(page: Any) -> None:
    """Seen from the free end +y lies to the right and +z above; a screen counts y downwards."""
    found = page.evaluate(
        """(model) => {
          const viewer = { model, mode: 0, factor: () => 0.001,
            state: { share: 0, together: false, swing: [0, 0] } };
          drawPath(viewer);
          const view = document.getElementById("path");
          const text = [...view.querySelectorAll("text")].map((t) => [t.textContent, +t.getAttribute("x")]);
          const line = [...view.querySelectorAll("line")].map((l) =>
            ["x1", "y1", "x2", "y2"].map((k) => +l.getAttribute(k)))[0];
          const points = view.querySelector("polyline").getAttribute("points").split(/[ ,]+/).map(Number);
          const at = (swing) => viewer.pathPlace(swing).split(" ").map(Number);
          return { text: Object.fromEntries(text), line, points, rest: at([0, 0]), one: at([0.002, 0]),
            two: at([0, 0.002]) };
        }""",
        MODEL,
    )
    assert found["text"]["left"] < 0 < found["text"]["right"]
    rest, one, two = (np.array(found[name]) for name in ("rest", "one", "two"))
    assert rest[0] > 0 > rest[1]  # the right upper corner
    # Moved by a mode: the picture's step is the edge's step, up turned over, both to one scale.
    scale = rest[0] / 5.0
    assert one - rest == pytest.approx(np.array([6.0, -2.0]) * scale, abs=0.02)
    assert two - rest == pytest.approx(np.array([-2.0, -4.0]) * scale, abs=0.02)
    x1, y1, x2, y2 = found["line"]
    assert (x1, y1 < y2) == (pytest.approx(x2), True)  # the force points down, so the arrow does
    assert [x2, y2] == pytest.approx(rest, abs=0.02)
    path = np.array(found["points"]).reshape(-1, 2)
    # Full swing to either side of the rest, 1000 mm a metre.
    assert path[0] - rest == pytest.approx(np.array([3.0, -1.0]) * scale, abs=0.02)
    assert path[36] + path[0] == pytest.approx(2 * rest, abs=0.04)


def test_the_band_is_logarithmic_and_one_stands_where_it_should(page: Any) -> None:
    """From 0.05 to 20 over the width: 1 in the middle, each factor of ten as wide as any other."""
    at = {v: page.evaluate("(v) => bandPlace(v)", v) for v in (0.01, 0.05, 0.1, 1, 10, 20, 90)}
    assert at[1] == pytest.approx((at[0.05] + at[20]) / 2)
    assert at[10] - at[1] == pytest.approx(at[1] - at[0.1])
    assert (at[0.01], at[90]) == (at[0.05], at[20])
    # The line of the scale is drawn from the left end to the right one.
    assert [at[0.05], at[20]] == pytest.approx(page.evaluate("[BAND.left, BAND.right]"))


def test_the_dial_turns_as_the_bar_does(page: Any) -> None:
    """A right-handed turn about +x, seen from the free end, goes from up toward left."""
    found = page.evaluate(
        """(model) => {
          const turned = { angles: [0, 45, 90, 135], margin: [0.1, 1.0, 0.1, 0.1], alike: false,
            windows: [[40, 50]], now: 45, best: 45 };
          drawDial(document.getElementById("dial"), { textContent: "" }, turned, model);
          const line = document.querySelector("#dial line");
          const ring = [...document.querySelectorAll("#dial polygon")].at(-1).getAttribute("points");
          return { now: ["x1", "y1"].map((k) => +line.getAttribute(k)), ring };
        }""",
        MODEL,
    )
    x, y = found["now"]
    assert x < 0  # to the left
    assert y < 0  # and above
    assert abs(x) == pytest.approx(abs(y), rel=1e-6)
    ring = np.array([[float(v) for v in one.split(",")] for one in found["ring"].split(" ")])
    far = ring[np.argsort(-np.linalg.norm(ring, axis=1))[:2]]
    assert np.all(far[:, 0] * far[:, 1] > 0)  # up left, and the same line's other end


def test_edge_lines_and_room_follow_both_modes(page: Any) -> None:
    """The sum of both shapes, each by its own scale; the frame keeps room for the largest swing."""
    found = page.evaluate(
        """(model) => {
          const [one, two] = model.modes;
          const scene = { model, one: { ...one, full: 32767 * 2, swing: 0.001, magnification: 40 },
            two: { ...two, full: 32767 * 5 } };
          const ends = [0, 1];
          const written = [...Scene.prototype.barLines.call(
            { ...scene, ends, points: [0, 0, 0, 1, 1, 1],
              shapeOne: [1, 0, 0, 0, 1, 0], shapeTwo: [0, 0, 1, 0, 0, 1] },
            [0.5, 0.1])];
          return { edge: Scene.prototype.edgeAt.call(scene, [0.01, 0.02]),
            largest: Scene.prototype.largest.call(scene), written };
        }""",
        MODEL,
    )
    # 0.005 + 0.01 * 3 - 0.02 * 1 and 0.005 + 0.01 * 1 + 0.02 * 2, by hand.
    assert found["edge"] == pytest.approx([0.08, 0.015, 0.055])
    assert found["largest"] == pytest.approx(0.04)
    # Half of mode one at 2, a tenth of mode two at 5.
    assert found["written"] == pytest.approx([1.0, 0.0, 0.5, 1.0, 2.0, 1.5])


def test_what_rides_on_the_end_turns_about_it(page: Any) -> None:
    """By hand: half of a turn of 0.2 about x takes (1, 2, 3) to (1, 2 - 0.3, 3 + 0.2), plus the shift."""
    found = page.evaluate(
        """() => {
          const ride = { shift: [0.1, 0, 0], turn: [0.2, 0, 0] };
          const none = { shift: [0, 0, 0], turn: [0, 0, 0] };
          const moved = Scene.prototype.rideAt.call({ one: { ride }, two: { ride: none } }, [0.5, 0.7]);
          return [...carried(new Float32Array([1, 2, 3]), moved)];
        }"""
    )
    assert found == pytest.approx([1.05, 1.7, 3.2], rel=1e-6)
