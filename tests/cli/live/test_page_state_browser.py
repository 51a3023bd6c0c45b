"""The live page's address holds its state: reload and Back keep it; a phone shows the verdict first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from answers import EXAMPLES
from browser import PHONE, Watch, axe_findings, opened, until
from live import Served, serving
from setups import ROUND

from stickout.cli.live.desk import Desk

CUT = """
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
work_diameter = 24
speeds_rpm = [200, 500]
[solve]
modes = 2
accuracy = 0.01
"""
FULL = "/^notes to/.test(document.getElementById('full-words').textContent)"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a served page of a file that no test touches."""
    file = tmp_path_factory.mktemp("page") / "bar.toml"
    file.write_text(ROUND + CUT, encoding="utf-8")
    with serving(Desk(file, EXAMPLES)) as one:
        yield one


def live(one: Any, address: str, **more: Any) -> tuple[Any, Watch]:
    """Return the page with its full answer there."""
    page, watch = opened(one, address, **more)
    until(page, FULL)
    return page, watch


def drag(page: Any, key: str, value: float) -> None:
    """Set a slider as a hand would, and let go."""
    page.fill(f"input[data-key='{key}']", str(value))
    page.dispatch_event(f"input[data-key='{key}']", "change")


def standing(page: Any, key: str) -> str:
    """Return where a slider stands."""
    return str(page.input_value(f"input[data-key='{key}']"))


def test_reload_and_back_keep_what_was_dragged(chromium: Any, served: Served) -> None:
    """Two sliders and a mode: there after a reload, undone one by one by Back, the answer with them."""
    page, watch = live(chromium, served.address)
    note = page.text_content("tr[data-row=note] > :nth-child(3)")
    drag(page, "bar.overhang", 60)
    drag(page, "bar.diameter", 18)
    until(page, FULL)
    page.click("#modes button:nth-child(2)")
    assert "bar.overhang=60" in page.url
    page.reload()
    page.wait_for_selector("#modes button")
    until(page, FULL)
    assert (standing(page, "bar.overhang"), standing(page, "bar.diameter")) == ("60", "18")
    assert page.get_attribute("#modes button:nth-child(2)", "aria-pressed") == "true"
    assert page.text_content("tr[data-row=note] > :nth-child(3)") != note
    page.go_back()  # the mode
    page.go_back()
    until(page, "document.querySelector(\"input[data-key='bar.diameter']\").value !== '18'")
    assert standing(page, "bar.overhang") == "60"
    page.go_back()
    until(page, "document.querySelector(\"input[data-key='bar.overhang']\").value === '80'")
    until(page, FULL)
    until(page, f"document.querySelector('tr[data-row=note] > :nth-child(3)').textContent === {note!r}")
    assert watch.faults == []


def test_another_set_up_is_a_step_of_back(chromium: Any, served: Served) -> None:
    """An example with a slider moved: opened by its address; Back from it is the set-up before."""
    page, watch = live(chromium, served.address)
    page.select_option("#source", "tube_bar")
    until(page, "document.title !== 'Home-made bar'")
    until(page, FULL)
    drag(page, "bar.overhang", 70)
    address = page.url
    assert "source=tube_bar" in address
    page.go_back()
    page.go_back()
    until(page, "document.title === 'Home-made bar'")
    other, _ = live(chromium, address)
    assert standing(other, "bar.overhang") == "70"
    assert other.input_value("#source") == "tube_bar"
    assert watch.faults == []


def test_what_the_address_cannot_mean_is_left_out(chromium: Any, served: Served) -> None:
    """Keys that are none, words for numbers, a set-up that is none: the page of the file, no fault."""
    page, watch = live(chromium, f"{served.address}?source=nobody&bar.overhang=x&evil=1&mode=99")
    assert standing(page, "bar.overhang") == "80"
    assert page.is_hidden("#message")
    assert watch.faults == []


@pytest.mark.parametrize("room", [PHONE, {"width": 360, "height": 640}], ids=["390x844", "360x640"])
def test_a_phone_shows_verdict_band_sliders_and_picture(
    chromium: Any, served: Served, room: dict[str, int]
) -> None:
    """A verdict of at most three lines, then band, sliders, picture, all begun above the fold."""
    page, _ = live(chromium, served.address, room=room)
    places = ["#verdict", "#band", "#sliders", "#solid"]
    tops = [page.locator(one).bounding_box()["y"] for one in places]
    assert tops == sorted(tops)
    assert tops[-1] < room["height"]
    assert page.locator("#drop").bounding_box()["y"] > tops[-1]
    verdict = page.locator("#verdict")
    lines = verdict.bounding_box()["height"] / float(
        verdict.evaluate("one => parseFloat(getComputedStyle(one).lineHeight)")
    )
    assert round(lines) <= 3


@pytest.mark.slow
@pytest.mark.parametrize("look", ["light", "dark", "forced"])
def test_accessibility_in_every_scheme(chromium: Any, served: Served, look: str) -> None:
    """Axe finds nothing in light, dark and forced colours."""
    colours = {"forced_colors": "active"} if look == "forced" else {"color_scheme": look}
    page, _ = live(chromium, served.address, **colours)
    assert axe_findings(page) == []
