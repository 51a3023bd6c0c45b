"""Inch set-ups are answered in inches, thou, ft/min and lbf by every command: nothing metric is left over."""

from __future__ import annotations

import html
import re
import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
import pytest
from answers import told
from inches import left_over

from stickout.cli.live.answer import answer
from stickout.cli.show.drawing.drawing import Push, set_up_drawing
from stickout.cli.text.words import pressure_text, spring_text, stiffness_text
from stickout.fem.setup.file import parse_setup, parse_tables

BAR: Final = """
title = "3/8 in bar"
units = "inch"
[bar]
diameter = "3/8"
overhang = "1-1/2"
gripped = 1.25
material = "silver steel"
[grip]
style = "bed"
[cut]
operation = "boring"
work_material = "mild steel"
depth = "10 thou"
feed = "2 thou"
nose_radius = "8 thou"
edge_angle_deg = 95
work_diameter = 0.75
speeds_rpm = [200, 800]
[solve]
modes = 2
accuracy = 0.01
"""
PART: Final = (
    BAR.replace('"boring"', '"turning"')
    + """
[post]
[work]
diameter = 0.75
bore = 0.65
length = 4
held = "chuck"
material = "steel"
cut_at = 4
"""
)
PULLED: Final = """
units = "inch"
[[pull]]
base = "post"
load_at = 1.5
dial_at = 1.4
loads_n = [0, 20, 40, 60, 40, 20, 0]
readings_um = [0, 11, 23, 34, 24, 13, 2]
[[tap]]
ring_hz = 2600
damping_ratio = 0.02
"""


@pytest.fixture(autouse=True)
def folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Return an empty folder with the two set-ups and the log."""
    monkeypatch.chdir(tmp_path)
    for name, text in {"bar.toml": BAR, "part.toml": PART, "log.toml": PULLED}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def read_words(page: str) -> str:
    """Return what a person reads on a page."""
    body = re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", body)))


COMMANDS: Final = (
    ("modes", "bar.toml", "--more"),
    ("modes", "part.toml", "--more"),
    ("force", "bar.toml", "--more"),
    ("cut", "bar.toml", "--more"),
    ("cut", "part.toml", "--more"),
    ("work", "part.toml", "--more"),
    ("compare", "bar.toml", "--with", "bar.overhang=1.3", "--more"),
    ("size", "--bore", "0.75", "--depth", "1.5", "--units", "inch", "--more"),
    ("pull", "log.toml"),
    ("fit", "bar.toml", "--log", "log.toml"),
    ("sweep", "bar.toml", "--vary", "bar.overhang=1.3,1.5", "--out", "table.csv"),
    ("listen", "tap.wav"),
)


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words[:2]))
def test_no_command_answers_in_metric_units(words: tuple[str, ...], folder: Path) -> None:
    """The whole answer, with all that ``--more`` adds."""
    if words[0] == "listen":
        with wave.open(str(folder / "tap.wav"), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(44100)
            file.writeframes(_taps().tobytes())
    done = told(*words)
    assert done.code == 0, done.err
    assert len(done.out) > 100
    assert left_over(done.out) == []


def _taps() -> np.ndarray:
    """Return four taps on a bar, each a ring that dies away, as 16 bit samples."""
    at = np.arange(44100) / 44100
    ring = 9000 * np.exp(-200 * at) * np.sin(2 * np.pi * 2600 * at)
    return np.tile(ring, 4).astype("<i2")


PAGES: Final = (
    pytest.param(("report", "part.toml", "--out", "page.html"), marks=pytest.mark.slow),
    ("show", "bar.toml", "--out", "page.html"),
)


@pytest.mark.parametrize("words", PAGES, ids=lambda words: str(words[0]))
def test_no_page_is_in_metric_units(words: tuple[str, ...], folder: Path) -> None:
    """What is read on a report and beside the viewer, pictures in it too where they are text."""
    done = told(*words)
    assert done.code == 0, done.err
    text = read_words((folder / "page.html").read_text(encoding="utf-8"))
    assert len(text) > 300
    assert left_over(text) == []


def test_the_live_page_and_the_drawing_are_in_inches() -> None:
    """Every text that the server sends for a bar, and the words of its drawing."""
    setup = parse_setup(BAR).setup
    sent = answer({"tables": parse_tables(BAR), "changes": {}, "full": False, "speed": 400.0})
    texts = " | ".join(one for one in _texts(sent) if " " in one)  # a mesh is one long word
    assert "thou per 10 lbf" in texts
    assert left_over(texts) == []
    push = Push(np.array([0.0, -0.3, -0.95]), size_n=40.0)
    assert left_over(read_words(set_up_drawing(setup, push))) == []


def _texts(sent: object) -> Iterator[str]:
    """Yield every text of a record."""
    if isinstance(sent, str):
        yield sent
    elif isinstance(sent, dict):
        for one in sent.values():
            yield from _texts(one)
    elif isinstance(sent, list | tuple):
        for one in sent:
            yield from _texts(one)


def test_the_numbers_are_those_of_the_units() -> None:
    """1 lbf is 4.4482216 N and 1 in is 25.4 mm (definitions, recalled): a spring, a stiffness, a pressure."""
    assert spring_text(1e-7, "inch", digits=4) == "0.1751 thou"  # 44.48 N times 0.1 µm/N over 25.4 µm
    assert stiffness_text(1e6, "inch", digits=4) == "5.710 lbf/thou"  # 25.4 N a thou over 4.448
    assert pressure_text(6.894757e6, "inch", digits=4) == "1.000 ksi"
