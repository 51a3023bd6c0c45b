"""The verdict in words, on verdicts written here: answers are read off the words of the specification."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cutting_cases import answer

from stickout.cli.text.speed_words import in_ten, verdict_line
from stickout.fem.cut.speed_verdict import MAY_SING, NOISY, QUIET, SpeedVerdict
from stickout.fem.cut.verdict import Verdict


def verdict(*words: tuple[float, str]) -> Verdict:
    """Return a verdict with these words at these speeds, the rest as the round bar has it."""
    base = answer("round").verdict
    one = base.speeds[0]
    told: tuple[SpeedVerdict, ...] = tuple(
        replace(one, speed_rpm=rpm, verdict=word, surely=False, poles_stable=True) for rpm, word in words
    )
    return replace(base, speeds=told, slowing_helps=True, speeds_assumed=False)


@pytest.mark.parametrize(
    ("chance", "told"),
    [(0.68, "6"), (0.7, "7"), (0.299, "2"), (1.0, "9"), (0.95, "9"), (0.09, "<1"), (0.0, "<1")],
)
def test_chances_are_rounded_down(chance: float, told: str) -> None:
    """Seven and up is always quiet, two and down always noisy (rule of the answers' specification)."""
    assert in_ten(chance) == told


def test_neighbouring_speeds_are_told_together() -> None:
    """The unit stands once; a word that comes back later is told again."""
    found = verdict((120, QUIET), (200, QUIET), (315, MAY_SING), (800, NOISY))
    assert verdict_line(found, "mm") == "Quiet at 120 and 200 rpm, may sing at 315, noisy at 800."
    assert verdict_line(verdict((100, NOISY), (200, NOISY)), "mm") == "Noisy at 100 and 200 rpm."
    many = verdict(*((rpm, NOISY) for rpm in (100, 200, 300, 400)))
    assert verdict_line(many, "mm") == "Noisy at every speed you gave."
    tried = replace(verdict(*((rpm, QUIET) for rpm in (417.7, 835.5, 1670.9))), speeds_assumed=True)
    assert verdict_line(tried, "inch") == "Quiet at all three."


def test_slowing_down_is_told_only_where_it_does_not_help() -> None:
    """And never where every speed is quiet."""
    said = "Slowing down will not help this one."
    loud = replace(verdict((200, NOISY), (500, NOISY)), slowing_helps=False)
    assert said in verdict_line(loud, "mm")
    assert said not in verdict_line(verdict((200, NOISY), (500, NOISY)), "mm")
    assert said not in verdict_line(replace(verdict((200, QUIET)), slowing_helps=False), "mm")


def test_surely_is_said_of_noise_only() -> None:
    """Quiet is never promised."""
    found = verdict((200, QUIET), (800, NOISY))
    sure = replace(found, speeds=tuple(replace(one, surely=True) for one in found.speeds))
    assert verdict_line(sure, "mm") == "Quiet at 200 rpm, surely noisy at 800."
