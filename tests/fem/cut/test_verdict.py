"""The verdict at each speed: everyday set-ups get the word that turners give."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.setup.file import read_setup
from stickout.fem.study.study import run_study

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[3]
PRACTICE = ROOT / "tests" / "data" / "practice"
CASES = json.loads((PRACTICE / "practice.json").read_text("utf-8"))
WORDS = {"may sing": "borderline"}


@cache
def answer(path: Path) -> CutAnswer:
    """Return the answer to a set-up file."""
    return cut_answer(run_study(read_setup(path).setup))


def test_everyday_setups_get_the_word_that_turners_give() -> None:
    """Common practice, no source (own judgement): no quiet/noisy swap, 13 of 14 set-ups accepted."""
    accepted = 0
    for case in CASES:
        right = True
        for one in answer(PRACTICE / case["file"]).verdict.speeds:
            assert one.speed_rpm is not None
            key = f"{one.speed_rpm:.0f}"
            word, wanted = WORDS.get(one.verdict, one.verdict), case["expected"][key]
            assert {word, wanted} != {"quiet", "noisy"}, (case["id"], key)
            right &= word in case["accept"].get(key, [wanted])
        accepted += right
    assert accepted >= 13
