"""The report: its figures are those of ``--json``, it is one whole page, and what is refused."""

from __future__ import annotations

import json
import platform
import re
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import scipy
from answers import EXAMPLES, Told, told
from printed_pages import Page, count_pages, outside, value_at

from stickout.cli.show.pages import report_pdf
from stickout.cli.show.pages.report_pdf import browser, print_pdf
from stickout.fem.errors import InputError, SolveError

BAR = EXAMPLES / "boring_bar_16mm.toml"
FEW = ("--set", "solve.modes=3", "--set", "solve.accuracy=0.01")
PRINTS = pytest.mark.skipif(browser() is None, reason="no Chromium browser to print with")


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


@cache
def report_of(folder: Path, *words: str) -> tuple[Told, Page]:
    """Return what ``report`` says and the page it writes."""
    done = told("report", *words, "--out", folder / "bar.html")
    assert done.code == 0, done.err
    return done, Page((folder / "bar.html").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder for the pages of this module."""
    return tmp_path_factory.mktemp("report")


def record_of(command: str, folder: Path, *words: object) -> dict[str, Any]:
    """Return the result file of a command."""
    target = folder / f"{command}.json"
    assert told(command, *words, "--json", target).code == 0
    return dict(json.loads(target.read_text(encoding="utf-8")))


def test_figures_are_those_of_json(folder: Path) -> None:
    """Every figure of the page carries the very number of ``modes --json`` or ``cut --json``."""
    _, page = report_of(folder, str(BAR), *FEW)
    records = {command: record_of(command, folder, BAR, *FEW) for command in ("modes", "cut")}
    assert len(page.figures) > 120
    for one in page.figures:
        assert not one.of or one.value == value_at(records[one.of], one.key), one.key
    found = {(one.of, one.key) for one in page.figures}
    for key in ("frequency_hz", "alignment", "loss_factor", "damping_ratio"):
        assert {("modes", f"modes.{at}.{key}") for at in range(3)} <= found
    for key in ("margin", "depth_limit_mm"):
        assert {("cut", f"cut.{key}.{side}") for side in ("low", "likely", "high")} <= found
    n_assumed = len(records["cut"]["assumptions"])
    assert {("cut", f"assumptions.{at}.value") for at in range(n_assumed)} <= found
    assert ("modes", "hand_check.difference") in found


def test_the_words_of_a_figure_are_its_value(folder: Path) -> None:
    """Notes, damping and margin as read from the page agree with their full values to the digits shown."""
    _, page = report_of(folder, str(BAR), *FEW)
    checked = 0
    for one in page.figures:
        if one.key.endswith("frequency_hz") and "±" in one.text:
            assert float(one.text.split()[0]) == pytest.approx(one.value, rel=1e-3)  # the error asked for
        elif one.key.endswith("damping_ratio"):
            assert float(one.text.split()[0]) / 100 == pytest.approx(one.value, rel=0.05)  # two digits
        elif one.key == "cut.margin.likely" and "." in one.text:
            assert float(one.text) == pytest.approx(one.value, rel=0.5)  # one digit
        else:
            continue
        checked += 1
    assert checked > 6


def test_what_the_page_holds(folder: Path) -> None:
    """Every part that was promised, in the order of the question; versions of what computed it."""
    done, page = report_of(folder, str(BAR), *FEW)
    assert done.out.startswith("Report written to")
    heads = page.heads
    wanted = ["In plain words", "Modes", "Where the energy is", "Hand check", "The cut: how far from chatter",
              "What to change", "At your speeds", "Assumed numbers", "Cautions", "Computed with"]  # fmt: skip
    assert [one for one in heads if one in wanted] == wanted
    assert "The edge springs" in page.words
    assert "Home-made 16 mm boring bar" in page.words
    for version in (platform.python_version(), np.__version__, scipy.__version__):
        assert version in page.words
    assert "Levina & Reshetov" in page.words  # a source in full
    assert "guards on" in page.words
    assert page.html.count("data:image/svg+xml") == 2
    assert "60 gripped" in page.words  # the drawing


def test_landmarks_and_headings(folder: Path) -> None:
    """One header, main and nav; headings without a gap; each section named by its own; links to them."""
    _, page = report_of(folder, str(BAR), *FEW)
    for tag in ("header", "main", "nav"):
        assert page.html.count(f"<{tag}") == 1, tag
    levels = [int(level) for level in re.findall(r"<h([1-6])", page.html)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    names = re.findall(r'<h2 id="([^"]+)"', page.html)
    assert len(set(names)) == len(names) == len(page.heads)
    assert re.findall(r'<section aria-labelledby="([^"]+)"', page.html) == names
    assert re.findall(r'<a href="#([^"]+)"', page.html) == names


def test_the_part_is_drawn_along_its_length_and_with_the_tool(folder: Path) -> None:
    """A set-up with work: its figures are those of ``work --json``; three moments stand below it."""
    shaft = EXAMPLES / "shaft_between_centres.toml"
    few = ("--set", "solve.modes=2", "--set", "solve.accuracy=0.05")
    done = told("report", shaft, *few, "--out", folder / "shaft.html")
    assert done.code == 0, done.err
    page = Page((folder / "shaft.html").read_text(encoding="utf-8"))
    record = record_of("work", folder, shaft, *few)
    told_here = [one for one in page.figures if one.of == "work"]
    assert len(told_here) > 30
    for one in told_here:
        assert one.value == value_at(record, one.key), one.key
    assert [one for one in page.heads if "part" in one] == [
        "The part along its length",
        "Tool and part together, where the cut sings",
    ]
    assert "The part gives most 150 mm from the headstock" in page.words
    assert "the part moves 100 %" in page.words
    assert page.html.count("data:image/svg+xml") == 4
    assert "20000000" not in page.words  # springs are read in N/µm


def test_the_spring_is_told_once(folder: Path) -> None:
    """The cut's opening tells it with what comes of it; the sentence on the mode does not say it again."""
    _, page = report_of(folder, str(BAR), *FEW)
    opening = page.words.partition("In plain words")[2].rpartition("Springs, for")[0]
    assert opening.count("The edge springs") == 1


def test_every_figure_of_a_table_carries_its_value(folder: Path) -> None:
    """Cells that begin with a number hold it as data; names, directions and sources are words."""
    _, page = report_of(folder, str(BAR), *FEW)
    bare = re.findall(r"<td>([-+x×]? ?[0-9][^<°]*)</td>", page.html)
    assert bare == []


def test_nothing_is_fetched(folder: Path) -> None:
    """No script, no link, no outside picture or letter."""
    _, page = report_of(folder, str(BAR), *FEW)
    assert outside(page) == []
    assert "<script" not in page.html
    assert "@page" in page.html
    assert "break-inside" in page.html


def test_the_same_input_gives_the_same_page(folder: Path, tmp_path: Path) -> None:
    """No date, no random names."""
    _, page = report_of(folder, str(BAR), *FEW)
    assert told("report", BAR, *FEW, "--out", tmp_path / "again.html").code == 0
    assert (tmp_path / "again.html").read_text(encoding="utf-8") == page.html


def test_a_cut_that_is_not_described_far_enough(tmp_path: Path) -> None:
    """The report is written without it, says so, and says what to add."""
    text = (EXAMPLES / "stepped_bar.toml").read_text(encoding="utf-8")
    half = tmp_path / "half.toml"
    half.write_text(
        re.sub(r"(?m)^(work_material|depth|feed|nose|edge_angle).*\n", "", text), encoding="utf-8"
    )
    _, err = done = told("report", half, *FEW, "--out", tmp_path / "a.html")[1:]
    assert "Add work_material" in err, done
    page = Page((tmp_path / "a.html").read_text(encoding="utf-8"))
    assert "Add work_material" in page.words
    assert "The cut: how far from chatter" not in page.heads
    assert {one.of for one in page.figures} == {"modes", ""}


def test_without_a_cut_in_inches(tmp_path: Path) -> None:
    """No section on the cut; lengths in the set-up's units; no hand formula where none applies."""
    text = (EXAMPLES / "inch_bar.toml").read_text(encoding="utf-8").split("[cut]")[0]
    (tmp_path / "in.toml").write_text(
        text.replace("3/8 in boring bar", "<i>Bar & 'co'</i>"), encoding="utf-8"
    )
    assert told("report", tmp_path / "in.toml", *FEW, "--out", tmp_path / "in.html").code == 0
    page = Page((tmp_path / "in.html").read_text(encoding="utf-8"))
    assert "thou" in page.words
    assert "<i>Bar & 'co'</i>" in page.words  # words, not a tag
    assert "describes no [cut]" in page.words
    # Inch set-ups print on Letter, all others on A4, unless asked otherwise.
    text = (tmp_path / "in.html").read_text(encoding="utf-8")
    assert "@page { size: letter; }" in text
    refused = told("report", tmp_path / "in.toml", "--paper=a5", "--out", tmp_path / "a5.html")
    assert (refused.code, "a4" in refused.err, (tmp_path / "a5.html").exists()) == (2, True, False)


@pytest.mark.parametrize(
    ("out", "text"),
    [
        ("bar.txt", "a file that ends in .html or .pdf"),
        ("bar", "a file that ends in .html or .pdf"),
        ("missing/bar.html", "whose folder does not exist"),
        ("file/bar.html", "whose folder does not exist"),
        ("held.html", "a folder"),
    ],
)
def test_what_is_refused(tmp_path: Path, out: str, text: str) -> None:
    """Exit 2, one message, nothing written, nothing computed."""
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "held.html").mkdir()
    done = told("report", BAR, "--out", out)
    assert done.code == 2
    assert done.out == ""
    assert text in done.err
    assert done.err.count("\n") == 1
    assert sorted(one.name for one in tmp_path.iterdir()) == ["file", "held.html"]


def test_no_browser(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Told before anything is computed, with the way out: a browser prints the .html."""
    monkeypatch.setenv("PATH", str(tmp_path))
    done = told("report", BAR, "--out", "bar.pdf")
    assert done.code == 2
    assert "open it in any browser and print it" in done.err
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(InputError, match=r"a \.html as long as no Chromium browser"):
        report_pdf.check_browser(Path("bar.pdf"))


def test_a_browser_that_fails(tmp_path: Path) -> None:
    """A program that prints nothing is told, and leaves nothing half written."""
    page = tmp_path / "page.html"
    page.write_text("<p>x</p>", encoding="utf-8")
    with pytest.raises(SolveError, match=r"printed nothing.*Ask for a \.html"):
        print_pdf(page, tmp_path / "page.pdf", program="true")
    with pytest.raises(SolveError, match="did not print"):
        print_pdf(page, tmp_path / "page.pdf", program=str(tmp_path / "none"))
    assert not (tmp_path / "page.pdf").exists()


@PRINTS
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_printed(folder: Path, tmp_path: Path, paper: str) -> None:
    """A real PDF of few pages, on both papers; no page is wider than the paper (its box is the paper's)."""
    _, page = report_of(folder, str(BAR), *FEW, "--paper", paper.lower())
    source = tmp_path / "page.html"
    source.write_text(page.html, encoding="utf-8")
    print_pdf(source, tmp_path / "page.pdf", program=str(browser()))
    most = {"A4": 5, "Letter": 6}[paper]  # four and a bit when nothing leaves a hole
    assert 4 <= count_pages(tmp_path / "page.pdf") <= most
    [box] = set(re.findall(rb"/MediaBox \[([^\]]*)\]", (tmp_path / "page.pdf").read_bytes()))
    # ISO 216 and ANSI sizes in points, to the point.
    sizes = {"A4": (595, 842), "Letter": (612, 792)}
    assert [float(n) for n in box.split()[2:]] == pytest.approx(sizes[paper], abs=1)


@PRINTS
def test_the_command_prints(tmp_path: Path) -> None:
    """``--out`` with .pdf gives a PDF and nothing beside it."""
    done = told("report", BAR, *FEW, "--out", "bar.pdf")
    assert done.code == 0, done.err
    assert (tmp_path / "bar.pdf").read_bytes().startswith(b"%PDF")
    assert [one.name for one in tmp_path.iterdir()] == ["bar.pdf"]
