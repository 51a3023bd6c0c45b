"""The picture of a part: what holds it is drawn where it stands."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from answers import EXAMPLES

from stickout.cli.show.plots.work_plot import draw_work
from stickout.fem import read_setup
from stickout.fem.cut.along import CutStation
from stickout.fem.setup.work_parts import Steady, Work
from stickout.fem.work.answer import work_answer

SETUP = read_setup(Path(EXAMPLES) / "slender_shaft.toml").setup
CUT = CutStation(85.0, 0.37, 0.35, 897.0, "part")


@pytest.mark.parametrize(
    ("held", "steadies", "named"),
    [
        ("chuck", (), {"chuck"}),
        ("chuck and centre", (Steady(40),), {"chuck", "tailstock", "steady"}),
        ("between centres", (Steady(30), Steady(60)), {"headstock centre", "tailstock", "steady"}),
    ],
)
def test_what_holds_the_part_is_drawn(
    held: str, steadies: tuple[Steady, ...], named: set[str], tmp_path: Path
) -> None:
    """Chuck, centres and steadies that are there, no others; the cut and its margin."""
    work = Work(12, 90, held, 85, steadies=steadies)
    path = tmp_path / "work.svg"
    draw_work(work_answer(replace(SETUP, work=work)), path=path, cuts=[CUT])
    text = path.read_text(encoding="utf-8")
    words = re.findall(r"<!-- (.*?) -->", text) + re.findall(r"<text[^>]*>([^<]*)</text>", text)
    assert {"cut", "0.37"} <= set(words)
    assert {one for one in words if one in ("chuck", "tailstock", "steady", "headstock centre")} == named
    assert words.count("steady") == len(steadies)
