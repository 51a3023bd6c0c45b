"""Dig-in of a parting blade in words: by how far it is from it."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from stickout.cli.text.edge_words import dig_in_words
from stickout.fem.cut.dig_in import DigIn


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
