"""A parting blade in words: how near it is to digging in, and whether it is the blade that would sing."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest
from setups import BLADE

from stickout.cli.text.edge_words import dig_in_words, pitch_line
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.dig_in import DigIn
from stickout.fem.setup.file import parse_setup
from stickout.fem.study.study import run_study

# The blade above a speed, without a part, in a part that its own note lies far below.
SPEEDS = "work_diameter = 30\nspeeds_rpm = [250]\n"
SOFT_PART = '[work]\ndiameter = 30\nlength = 90\nheld = "chuck"\ncut_at = 80\nmaterial = "steel"\n'


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (math.inf, "Dig-in: none found."),
        (12.6, "Dig-in: none found."),
        (1.84, "Dig-in is near: 1.8 times this cut would pull the edge in."),
        (1.0, "It digs in: this cut pulls the edge in faster than it frees itself. Hold it shorter."),
    ],
)
def test_how_near_a_blade_is_to_digging_in(factor: float, words: str) -> None:
    """By the factor that the cut may grow."""
    answer = SimpleNamespace(dig_in=DigIn(factor, 4e-6, 6e-3))
    assert dig_in_words(answer) == words  # type: ignore[arg-type]


def test_nothing_is_said_of_another_cut() -> None:
    """Only a blade digs in that way."""
    assert dig_in_words(SimpleNamespace(dig_in=None)) == ""  # type: ignore[arg-type]


@pytest.mark.parametrize(("part", "blade_sings"), [("", True), (SOFT_PART, False)])
def test_the_blade_is_named_where_the_pitch_is_its_own(part: str, *, blade_sings: bool) -> None:
    """A note far below every note of the blade is the part's, whichever way the blade would swing."""
    answer = judged(part)
    lowest = float(answer.result.frequency_hz[0])
    assert (answer.verdict.stated.chatter_hz > 0.9 * lowest) is blade_sings
    assert ("it is the blade swinging sideways" in pitch_line(answer)) is blade_sings


def judged(part: str) -> CutAnswer:
    """Return the answer of the blade's cut, with what a part adds to the set-up."""
    setup = parse_setup(BLADE + SPEEDS + part).setup
    return cut_answer(run_study(replace(setup, solve=replace(setup.solve, modes=3, accuracy=0.01))))
