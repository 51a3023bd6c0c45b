"""The viewer file where the browser has no WebGL2, no canvas or no scripts."""

from __future__ import annotations

import base64
import io
from typing import Any

import numpy as np
import pytest
from browser import MOVING, drawn, opened, settle, still
from PIL import Image

from stickout.meshes.tagged import FloatArray

SMALL = {"width": 900, "height": 560}
NO_GL = "HTMLCanvasElement.prototype.getContext = () => null;"
NO_SOLID = """const given = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...more) {
  return kind === "webgl2" ? null : given.call(this, kind, ...more);
};"""


def pixels(page: Any) -> FloatArray:
    """Return the canvas as it stands on the page: red, green, blue and cover, shape (high, wide, 4)."""
    with Image.open(io.BytesIO(base64.b64decode(drawn(page).partition(",")[2]))) as picture:
        return np.asarray(picture.convert("RGBA"), dtype=float)


def test_without_webgl_the_same_is_drawn(chromium: Any, address: str) -> None:
    """Pixel for pixel what the graphics card draws, but for soft rims: at rest, in colours, from the side."""
    solid, _ = opened(chromium, address, room=SMALL)
    flat, watch = opened(chromium, address, room=SMALL, script=NO_SOLID)
    assert flat.is_visible("#flat-note")
    flat.evaluate("document.getElementById('flat-note').remove()")  # so that both have the same room
    for act in ("1", "c", "c", "3"):
        seen = []
        for page in (solid, flat):
            page.keyboard.press(act)
            page.click("button[data-view=side]" if act == "3" else "button[data-view=corner]")
            settle(page)
            seen.append(pixels(page))
        one, two = seen
        assert one.shape == two.shape
        covered = [found[:, :, 3] > 0 for found in seen]
        assert (covered[0] & covered[1]).sum() > 0.97 * (covered[0] | covered[1]).sum() > 0
        both = covered[0] & covered[1]
        # Of 255: rims differ by as much as there is, areas by the rounding of a colour.
        assert np.median(np.abs(one - two)[both][:, :3]) <= 2
        assert np.abs(one - two)[both][:, :3].mean() < 6
    assert watch.faults == []


def test_without_webgl_it_moves_and_can_be_stopped(chromium: Any, address: str) -> None:
    """Play and Pause, modes and words as with it; no error is thrown."""
    page, watch = opened(chromium, address, room=SMALL, script=NO_SOLID, **MOVING)
    first = drawn(page)
    page.wait_for_timeout(300)
    assert drawn(page) != first
    still(page)
    stopped = drawn(page)
    settle(page)
    assert drawn(page) == stopped
    page.keyboard.press("3")
    settle(page)
    assert drawn(page) != stopped
    assert page.inner_text("#mode-words").startswith("Mode 3")
    assert watch.faults == []


@pytest.mark.parametrize("without", [{"script": NO_GL}, {"java_script_enabled": False, "ready": "h1"}])
def test_where_nothing_can_move_the_drawing_stands(
    chromium: Any, address: str, without: dict[str, Any]
) -> None:
    """Without a canvas, or without scripts: the set-up to scale, and a sentence why; no error is thrown."""
    page, watch = opened(chromium, address, **without)
    assert page.is_hidden("#solid")
    assert page.is_visible("#unmoved svg")
    assert page.inner_text("#unmoved").split("\n")[-1].startswith("This browser draws no moving picture")
    if "script" in without:
        page.keyboard.press("3")
        assert page.inner_text("#mode-words").startswith("Mode 3")
    assert watch.faults == []
