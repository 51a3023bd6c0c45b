"""Report, handout and the page for a link from elsewhere in a real browser: accessible in every look."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES
from browser import PHONE, axe_findings, opened
from PIL import Image

from stickout.cli.commands.report import told_of
from stickout.cli.live.guard import page_text
from stickout.cli.show.pages.handout import Handout, Heading, handout_page
from stickout.cli.show.pages.report import report_page
from stickout.fem.setup.file import read_setup
from stickout.fem.study.study import run_study

BAR = EXAMPLES / "boring_bar_16mm.toml"
FEW = ("solve.modes=2", "solve.accuracy=0.01")
LOOKS = ("light", "dark", "forced")
NARROW = PHONE | {"width": 360}
# A section that is kept whole leaves the rest of a page empty where it does not fit.
KEPT_WHOLE = """[...document.querySelectorAll("main > section")].filter(
  (one) => getComputedStyle(one).breakInside === "avoid").map((one) => one.offsetHeight)"""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return the three pages, written once."""
    folder = tmp_path_factory.mktemp("pages")
    told = told_of(run_study(read_setup(BAR, changes=FEW).setup))
    still = folder / "still.gif"
    Image.new("RGB", (96, 54), "white").save(still)
    slots = {
        "title": "One more click",
        "why": "A link brought you here.",
        "address": "http://127.0.0.1:1/",
    }
    texts = {
        "report": report_page(told),
        "handout": handout_page(Handout(told, Heading("Why it sings"), still)),
        "elsewhere": page_text("elsewhere.html", slots),
    }
    found = {name: folder / f"{name}.html" for name in texts}
    for name, text in texts.items():
        found[name].write_text(text, encoding="utf-8")
    return found


@pytest.mark.slow
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("name", ["report", "handout", "elsewhere"])
def test_accessible(chromium: Any, pages: dict[str, Path], name: str, look: str) -> None:
    """Axe finds nothing, and a phone of 360 pixels scrolls no page sideways."""
    colours = {"forced_colors": "active"} if look == "forced" else {"color_scheme": look}
    page, watch = opened(chromium, pages[name].as_uri(), room=NARROW, ready="h1", **colours)
    assert axe_findings(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= NARROW["width"]
    assert watch.faults == []


def test_a_table_of_the_report_is_reached_by_keys(chromium: Any, pages: dict[str, Path]) -> None:
    """On a phone what is too wide is scrolled inside its section, which takes the focus."""
    page, _ = opened(chromium, pages["report"].as_uri(), room=NARROW, ready="h1")
    wide = "[...document.querySelectorAll('section')].filter((one) => one.scrollWidth > one.clientWidth + 1)"
    assert page.evaluate(f"{wide}.length") > 0
    assert page.evaluate(f"{wide}.every((one) => one.tabIndex === 0)")


def test_sections_of_the_report_flow(chromium: Any, pages: dict[str, Path]) -> None:
    """No section of more than a third of a page (A4, 297 mm, 96 px an inch) is kept whole in print."""
    page, _ = opened(chromium, pages["report"].as_uri(), ready="h1")
    page.emulate_media(media="print")
    third = 297 / 25.4 * 96 / 3
    assert [one for one in page.evaluate(KEPT_WHOLE) if one > third] == []
