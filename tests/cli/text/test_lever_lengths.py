"""Lengths in the words of a change, in mm and in inches: 25.4 mm is one inch, 0.0254 mm one thou."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cutting_cases import ROUND

from stickout.cli.text.lever_words import lever_words
from stickout.fem.cut.lever import CutLever, Outcome

NOW, THEN = Outcome(0.5, 0.1), Outcome(1.5, 0.9)


@pytest.mark.parametrize(
    ("key", "value", "in_mm", "in_inches"),
    [
        ("overhang", 63.5, "63.5 mm out instead of 80", "2.5 in out instead of 3.1496"),
        ("depth", 0.1016, "0.102 mm deep", "4 thou deep"),
        ("feed", 0.0762, "feed 0.0762 instead of 0.05 mm", "feed 3 instead of 1.97 thou"),
        ("nose_radius", 0.2, "nose 0.2 instead of 0.4 mm", "nose 7.87 instead of 15.7 thou"),
    ],
)
def test_a_change_in_the_units_of_the_set_up(key: str, value: float, in_mm: str, in_inches: str) -> None:
    """By division: three digits, four decimals of an inch."""
    lever = CutLever(key, value, NOW, THEN, "reach")
    assert lever_words(lever, ROUND) == in_mm
    assert lever_words(lever, replace(ROUND, units="inch")) == in_inches
