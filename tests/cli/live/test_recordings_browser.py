"""A recording dropped on the live page in a real browser: the changed band, why, refusals, what is kept."""

from __future__ import annotations

import base64
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES
from browser import PHONE, axe_findings, opened, reached_by_tab, until
from live import Served, serving
from shop import RATE, decay, taps, write_wav
from tapped import BED_BAR

from stickout.cli.live.desk import Desk

DROP = """([name, text]) => {
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0)), files = new DataTransfer();
  files.items.add(new File([bytes], name));
  for (const kind of ["dragover", "drop"]) {
    document.getElementById("sliders").dispatchEvent(
      new DragEvent(kind, { dataTransfer: files, bubbles: true, cancelable: true }));
  }
}"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a bar and five taps, a sixth one doubled."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "bar.toml").write_text(BED_BAR, encoding="utf-8")
    sound = taps(((1170.0, 0.008, 1.0),), count=6, seed=1)
    again = decay(1170, 0.008, seconds=0.3, size=0.4)
    at = round(0.72 * RATE)
    sound[at : at + len(again)] += again
    write_wav(folder / "taps.wav", sound)
    return folder


@pytest.fixture(scope="module")
def served(folder: Path) -> Iterator[Served]:
    """Return the page of that bar, served."""
    with serving(Desk(folder / "bar.toml", EXAMPLES, folder=folder)) as one:
        yield one


def dropped(page: Any, path: Path, *, name: str = "") -> None:
    """Drop a file on the page."""
    page.evaluate(DROP, [name or path.name, base64.b64encode(path.read_bytes()).decode("ascii")])


def heard(page: Any, outcome: str) -> str:
    """Return the answer once it is there."""
    until(page, f"document.body.dataset.heard === '{outcome}'")
    return str(page.inner_text("#bench-answer"))


def test_a_dropped_recording_changes_the_band(chromium: Any, served: Served, folder: Path) -> None:
    """The band before and now, the refused tap with its reason in text and on hover, then kept and opened."""
    page, watch = opened(chromium, served.address)
    (folder / "note.txt").write_text("no sound", encoding="utf-8")
    dropped(page, folder / "note.txt")
    assert "a kind of file not read here" in heard(page, "refused")
    assert not page.is_visible("#bench-found")
    dropped(page, folder / "taps.wav")
    answer = heard(page, "fitted")
    assert answer.startswith("Your taps turn the margin band without rubbing from ")
    rows = page.evaluate("Array.from(document.querySelectorAll('#bench-bands th'), (one) => one.textContent)")
    assert rows[0] == "margin without rubbing"
    assert "loss factor of the seat" in rows
    assert "doubled: a second blow" in page.inner_text("#bench-refused")
    assert "doubled" in page.text_content("#taps .mark title >> nth=-1")
    assert page.locator("#taps polygon").count() == 6
    assert "taps counted" in page.inner_text("#bench-trust")
    assert "315 rpm" in page.inner_text("#near-words")
    for name in ("taps", "decay", "spectrum", "near"):
        assert page.get_attribute(f"#{name}", "aria-label") == page.inner_text(f"#{name}-words")
    page.click("#bench-keep")
    until(page, "document.getElementById('bench-kept').textContent.startsWith('Saved: ')")
    until(page, "document.getElementById('source').value === 'bar-measured.toml'")
    kept = tomllib.loads((folder / "bar-measured.toml").read_text(encoding="utf-8"))
    assert kept["measured"]["origin"] == "fit of taps.wav"
    assert f"{served.address}keep" in watch.requests
    assert watch.faults == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("look", "room"),
    [("light", PHONE | {"width": 360}), ("dark", {"width": 1280, "height": 800}), ("forced", PHONE)],
    ids=["light", "dark", "forced"],
)
def test_keyboard_and_accessibility(
    chromium: Any, served: Served, folder: Path, look: str, room: dict[str, int]
) -> None:
    """Light, dark, forced, a narrow phone: axe finds nothing, Tab reaches all, nothing is too wide."""
    colours = {"forced_colors": "active"} if look == "forced" else {"color_scheme": look}
    page, watch = opened(chromium, served.address, room=room, **colours)
    with page.expect_file_chooser() as chosen:
        page.focus("#choose")
        page.keyboard.press("Enter")
    chosen.value.set_files(str(folder / "taps.wav"))
    heard(page, "fitted")
    for summary in page.query_selector_all("#drop summary, #bench summary"):
        summary.press("Enter")
    assert axe_findings(page) == []
    wanted, met = reached_by_tab(page)
    assert wanted <= met
    assert page.evaluate("document.documentElement.scrollWidth") <= room["width"]
    page.focus("#bench-close")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "choose"
    assert watch.faults == []


@pytest.mark.slow
def test_a_pull_that_is_typed(chromium: Any, served: Served) -> None:
    """Readings without a place are refused in words; with it the pull is fitted alone."""
    page, watch = opened(chromium, served.address)
    for summary in page.query_selector_all("#drop summary"):
        summary.click()
    page.click("#pull-add")
    for at, (load, dial) in enumerate([(0, 0), (20, 9), (40, 18), (60, 27), (80, 36), (0, 0)]):
        row = page.locator("#pull-rows tr").nth(at).locator("input")
        row.nth(0).fill(str(load))
        row.nth(1).fill(str(dial))
    page.click("#pull button[type=submit]")
    assert "where you pulled" in heard(page, "refused")
    page.fill("#pull-load-at", "80")
    page.fill("#pull-dial-at", "80")
    page.click("#pull button[type=submit]")
    assert heard(page, "fitted").startswith("Your pull turns the margin band")
    assert not page.is_visible("#taps")
    assert watch.faults == []
