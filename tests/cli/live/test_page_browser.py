"""The live page in a real browser: sliders answer, the newest wins, nothing that goes wrong ends it."""

from __future__ import annotations

import os
import signal
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES
from browser import (
    PHONE,
    Watch,
    axe_findings,
    drawn,
    opened,
    reached_by_tab,
    still,
    until,
)
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
edge_angle_deg = 95
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


@pytest.fixture(scope="module")
def changing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    """Return a served page of a file that tests change, and the file."""
    file = tmp_path_factory.mktemp("changing") / "bar.toml"
    file.write_text(ROUND + CUT, encoding="utf-8")
    with serving(Desk(file, EXAMPLES)) as one:
        yield one, file


@pytest.fixture
def own(changing: tuple[Served, Path]) -> tuple[Served, Path]:
    """Return that page with its file as it was at first."""
    changing[1].write_text(ROUND + CUT, encoding="utf-8")
    return changing


def live(one: Any, served: Served, **more: Any) -> tuple[Any, Watch]:
    """Return the page with its full answer there."""
    page, watch = opened(one, served.address, **more)
    answered_in_full(page)
    return page, watch


def answered_in_full(page: Any) -> None:
    """Wait for the full answer to all that was asked."""
    until(page, FULL)


def figure(page: Any, row: str, column: int) -> str:
    """Return one figure of the table; column 1 is quick, 2 full."""
    return str(page.text_content(f"tr[data-row={row}] > :nth-child({column + 1})"))


def drag(page: Any, key: str, value: float) -> None:
    """Set a slider as a hand would."""
    page.fill(f"input[data-key='{key}']", str(value))


def test_sliders_update_the_answer(chromium: Any, served: Served) -> None:
    """A shorter bar: higher note, less spring, another picture; quick and full are both there and named."""
    page, watch = live(chromium, served)
    still(page)
    before = drawn(page)
    note, spring = figure(page, "note", 2), figure(page, "spring", 2)
    drag(page, "bar.overhang", 60)
    until(page, "document.querySelector('tr[data-row=note] td:last-child').className === 'old'")
    answered_in_full(page)
    assert float(figure(page, "note", 2).split()[0]) > float(note.split()[0])
    assert float(figure(page, "spring", 2).split()[0]) < float(spring.split()[0])
    assert figure(page, "note", 1).split()[1] == "kHz"
    assert "first mesh" in page.inner_text("#quick-words")
    assert drawn(page) != before
    assert "60 mm" in page.inner_text("#sliders")
    assert set(watch.requests) == {served.address, f"{served.address}answer"}
    assert watch.faults == []


def test_fast_drags_leave_one_request_under_way(chromium: Any, served: Served) -> None:
    """Thirty drags in a row: never two at once, fewer asked than dragged, and the last one is answered."""
    page, watch = live(chromium, served)
    asked = len(watch.requests)
    page.evaluate("""() => {
      const slider = document.querySelector("input[data-key='bar.overhang']");
      for (let at = 0; at < 30; at++) {
        slider.value = 90 + at;
        slider.dispatchEvent(new Event("input", { bubbles: true }));
      }
    }""")
    answered_in_full(page)
    assert watch.most == 1
    assert len(watch.requests) - asked <= 4
    final = served.ask(
        "/answer", {"source": "your set-up", "changes": {"bar.overhang": 119}, "full": True, "tab": "t"}
    )
    assert figure(page, "note", 2) == final.data["rows"]["note"]


def test_a_stiffer_bar_is_seen_to_swing_less(chromium: Any, served: Served) -> None:
    """The same magnification while dragging: told in words, and the mode keeps it."""
    page, _ = live(chromium, served)

    def magnified() -> str:
        return str(page.inner_text("#size-words")).split(" times")[0]

    before = magnified()
    drag(page, "bar.overhang", 50)
    answered_in_full(page)
    assert magnified() == before
    page.uncheck("#hold")
    assert magnified() != before


def test_a_bad_value_shows_a_message(chromium: Any, served: Served) -> None:
    """A boring bar thinner than its bore: said in words, the old answer stays, the next drag mends it."""
    page, watch = live(chromium, served)
    page.select_option("#source", "tube_bar")
    answered_in_full(page)
    note = figure(page, "note", 2)
    page.evaluate("document.querySelector(\"input[data-key='bar.diameter']\").min = 1")
    drag(page, "bar.diameter", 2)
    page.wait_for_selector("#message:not([hidden])")
    assert "bar." in page.inner_text("#message")
    assert figure(page, "note", 2) == note
    page.click("#reset")
    page.wait_for_selector("#message", state="hidden")
    answered_in_full(page)
    assert watch.faults == []


@pytest.mark.slow
def test_a_killed_solver_leaves_a_working_page(chromium: Any, served: Served) -> None:
    """Both solvers killed: the page says so or not, and answers the next drag."""
    page, watch = live(chromium, served)
    for worker in (served.desk.quick, served.desk.full):
        assert worker.pid is not None
        os.kill(worker.pid, signal.SIGKILL)
    drag(page, "bar.overhang", 64)
    until(page, f"!document.getElementById('message').hidden || {FULL}")
    drag(page, "bar.overhang", 66)
    answered_in_full(page)
    assert page.is_hidden("#message")
    assert watch.faults == []


def test_the_file_changes_and_goes(chromium: Any, own: tuple[Served, Path]) -> None:
    """Changed on disk: the sliders follow. Removed: a message, and sliders still answer."""
    page, watch = live(chromium, own[0])
    own[1].write_text((ROUND + CUT).replace("overhang = 80", "overhang = 97"), encoding="utf-8")
    page.click("#reset")
    until(page, "document.getElementById('sliders').textContent.includes('97 mm')")
    own[1].unlink()
    drag(page, "bar.diameter", 18)
    page.wait_for_selector("#message:not([hidden])")
    assert "can no longer be used" in page.inner_text("#message")
    answered_in_full(page)
    assert watch.faults == []


def test_an_answer_belongs_to_its_question(chromium: Any, own: tuple[Served, Path]) -> None:
    """The file changes, then a slider moves: quick and full column are of one bar, the changed one."""
    page, watch = live(chromium, own[0])
    own[1].write_text((ROUND + CUT).replace("overhang = 80", "overhang = 120"), encoding="utf-8")
    drag(page, "bar.diameter", 18)
    until(page, "document.getElementById('sliders').textContent.includes('120 mm')")
    answered_in_full(page)
    quick, full = (float(figure(page, "spring", column).split()[0]) for column in (1, 2))
    assert quick == pytest.approx(full, rel=0.1)
    assert page.evaluate("document.body.dataset.old") is None
    assert watch.faults == []


def test_the_program_behind_it_ends(chromium: Any, tmp_path: Path) -> None:
    """The page says so in words."""
    file = tmp_path / "bar.toml"
    file.write_text(ROUND + CUT, encoding="utf-8")
    with serving(Desk(file, EXAMPLES)) as ending:
        page, _ = live(chromium, ending)
    drag(page, "bar.overhang", 70)
    page.wait_for_selector("#message:not([hidden])")
    assert "does not answer" in page.inner_text("#message")
    assert "What is dimmed is the last answer, for Home-made bar, overhang 80 mm" in page.inner_text(
        "#message"
    )
    for part in ("#title", "#figures", "#modes", ".stage"):
        assert page.evaluate(f"getComputedStyle(document.querySelector('{part}')).opacity") == "0.4"


def test_saving_and_opening(chromium: Any, served: Served) -> None:
    """The saved file holds the dragged value; an example brings its own sliders."""
    page, watch = live(chromium, served)
    drag(page, "bar.overhang", 73)
    with page.expect_download() as got:
        page.click("#save")
    saved = tomllib.loads(Path(got.value.path()).read_text(encoding="utf-8"))
    assert saved["bar"]["overhang"] == 73
    assert saved["cut"]["speeds_rpm"] == [200, 500]
    page.select_option("#source", "flatted_bar_30deg")
    page.wait_for_selector("input[data-key='bar.rotation_deg']")
    answered_in_full(page)
    assert "describes no cut" in page.inner_text("#verdict") or "needs more" in page.inner_text("#verdict")
    assert watch.faults == []


@pytest.mark.slow
@pytest.mark.parametrize("room", [{"width": 1440, "height": 900}, PHONE])
def test_keyboard_phone_and_accessibility(chromium: Any, served: Served, room: dict[str, int]) -> None:
    """Tab reaches every control, arrows move a slider; 390 pixels hold it all; axe finds nothing."""
    page, _ = live(chromium, served, room=room)
    wanted, met = reached_by_tab(page)
    assert len(wanted) > 12
    assert wanted <= met
    page.focus("input[data-key='bar.overhang']")
    page.keyboard.press("ArrowRight")
    assert "81 mm" in page.inner_text("#sliders")
    answered_in_full(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= room["width"]
    assert axe_findings(page) == []
