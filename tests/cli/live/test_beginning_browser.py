"""The questions of the live page in a real browser: answered by mouse and keys, kept on reload, and saved."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES
from browser import PHONE, axe_findings, opened, reached_by_tab, until
from live import Served, serving

from stickout.cli.live.desk import Desk

FIRST = "#choices button"


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return a page without a set-up, whose files go into the test's folder."""
    with serving(Desk(None, EXAMPLES, folder=tmp_path)) as one:
        yield one


def asked(page: Any, number: int) -> None:
    """Wait until a question is asked."""
    until(page, f"document.getElementById('number').textContent.startsWith('Question {number} ')")


def give(page: Any, answer: str, *, then: int) -> None:
    """Type an answer, and wait for the question after it."""
    page.fill("#typed", answer)
    page.press("#typed", "Enter")
    asked(page, then)


def test_from_nothing_to_an_answer(chromium: Any, served: Served, tmp_path: Path) -> None:
    """Ten answers, one of them wrong at first, one changed; reload and Back keep them; then the answer."""
    page, watch = opened(chromium, served.address, ready=FIRST)
    page.click("button[data-letter=b]")
    asked(page, 2)
    page.check("input[value=mm]")
    page.fill("#typed", "thick")
    page.press("#typed", "Enter")
    page.wait_for_selector("#message:not([hidden])")
    assert "A length, please" in page.inner_text("#message")
    give(page, "12", then=3)
    page.click("#usual")
    asked(page, 4)
    page.reload()
    asked(page, 4)
    give(page, "60", then=5)
    page.go_back()
    asked(page, 4)
    give(page, "48", then=5)
    page.click("button[data-letter=k]")
    for at, answer in enumerate(("mild steel", "20", "0.2 0.05", "0.4"), 6):
        asked(page, at)
        give(page, answer, then=at + 1)
    page.click("#before li:nth-child(4) button")  # the overhang once more
    asked(page, 4)
    assert page.input_value("#typed") == "48"
    give(page, "50", then=5)
    page.click("button[data-letter=k]")
    for at in range(6, 11):
        asked(page, at)
        page.click("#usual")
    page.wait_for_selector("#end:not([hidden])")
    assert list(tmp_path.iterdir()) == []
    assert "12-mm-bar-in-a-bored-block.toml" in page.inner_text("#end-words")
    page.click("#begin")
    page.wait_for_selector("#modes button")
    saved = tomllib.loads((tmp_path / "12-mm-bar-in-a-bored-block.toml").read_text(encoding="utf-8"))
    assert (saved["bar"]["diameter"], saved["bar"]["overhang"]) == (12, 50)
    assert "50 mm" in page.inner_text("#sliders")
    assert "12-mm-bar-in-a-bored-block.toml" in page.inner_text("#file-words")
    assert watch.faults == []


@pytest.mark.slow
@pytest.mark.parametrize("room", [{"width": 1280, "height": 800}, PHONE])
@pytest.mark.parametrize("look", ["light", "dark", "forced"])
def test_keyboard_and_accessibility(chromium: Any, served: Served, look: str, room: dict[str, int]) -> None:
    """Light, dark, forced colours: axe finds nothing, Tab reaches all, nothing is too wide."""
    colours = {"forced_colors": "active"} if look == "forced" else {"color_scheme": look}
    page, watch = opened(chromium, served.address, room=room, ready=FIRST, **colours)
    assert axe_findings(page) == []
    page.focus("button[data-letter=b]")
    page.keyboard.press("Enter")
    asked(page, 2)
    assert page.evaluate("document.activeElement.id") == "typed"
    wanted, met = reached_by_tab(page)
    assert wanted <= met
    assert axe_findings(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= room["width"]
    assert watch.faults == []
