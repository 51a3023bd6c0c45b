"""What does not fit together is told, not averaged: a mass that rattles, a loss that is not the seat's."""

from __future__ import annotations

from dataclasses import replace

import pytest
from setups import ROUND

from stickout.fem.bench.evidence import Evidence, Note
from stickout.fem.bench.fit import fit_setup
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup

BARE = Note(1200.0, 0.0005, 0.012, 0.02)
MASS = 0.02
# The standard bar's modal mass at the edge is 39.9 g: part A3 of the dossier, about this one's too.
LOADED_HZ = 1200.0 * (39.9 / (39.9 + 20.0)) ** 0.5


@pytest.fixture(scope="module")
def bar() -> Setup:
    """Return the bar."""
    return parse_setup(ROUND).setup


def loaded(damping: float, sd: float = 0.02) -> Note:
    """Return the note with a mass on."""
    return Note(LOADED_HZ, 0.0005, damping, sd, mass=MASS)


def test_a_mass_that_rattles_is_left_out(bar: Setup) -> None:
    """Damping more than half as high again with it: told, and the answer is that of the other tap alone."""
    alone = fit_setup(bar, Evidence([BARE]))
    both = fit_setup(bar, Evidence([BARE, loaded(0.025)]))
    [why] = both.left_out
    assert "20 g" in why
    assert "2.1 times faster" in why
    assert both.parameters == alone.parameters
    assert both.disagreement is None


@pytest.mark.parametrize("note", [loaded(0.0125), loaded(0.019, 0.4)])
def test_a_mass_that_sits_still_counts(bar: Setup, note: Note) -> None:
    """About as fast as without, or as rough a reading that chance may have made the difference."""
    both = fit_setup(bar, Evidence([BARE, note]))
    assert both.left_out == ()
    assert both.parameters != fit_setup(bar, Evidence([BARE])).parameters


def test_a_loss_that_is_not_the_seats_is_told(bar: Setup) -> None:
    """Twice the damping at a shorter overhang is more than any share of the seat gives."""
    there = replace(bar, bar=replace(bar.bar, overhang_mm=60.0))
    short = fit_setup(bar, Evidence([BARE]), elsewhere=there).predictions.frequency_hz
    elsewhere = Note(short.likely, 0.001, 0.05, 0.02, overhang=0.060)
    found = fit_setup(bar, Evidence([BARE, elsewhere])).disagreement
    assert found is not None
    assert "dies away" in found
