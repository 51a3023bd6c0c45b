"""Sizes of a holder that were taken as usual go to the ends of their bands together with its seat."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import pytest
import setups

from stickout.fem.cut.models import coarse_model
from stickout.fem.cut.spread import with_grip
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.grips import SlotGrip
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.usual_ends import usual_at_end, without_usual_sizes
from stickout.fem.study.band_ends import at_end

POST: Final = """
units = "mm"
[bar]
width = 10
overhang = 35
material = "HSS"
[grip]
style = "four-way post"
"""
BLOCK: Final = """
units = "mm"
[bar]
diameter = 12
overhang = 60
material = "steel"
[grip]
style = "bored block"
"""
BED: Final = 'units = "mm"\n[bar]\ndiameter = 16\noverhang = 80\nmaterial = "steel"\n[grip]\nstyle = "bed"\n'


def sideways(setup: Setup) -> float:
    """Return the spring sideways on a coarse mesh [m/N]."""
    return float(coarse_model(setup).static[1, 1])


@pytest.mark.parametrize("text", [POST, BLOCK, BED])
def test_both_ends_can_be_held(text: str) -> None:
    """Every end is a set-up without a fault: screws on the shank, metal round the bore."""
    setup = parse_setup(text).setup
    for side in ("low", "high"):
        end = usual_at_end(setup, side)
        assert list(setup_faults(end)) == []
        assert end != setup


def test_what_is_given_stays() -> None:
    """A set-up that gives every size has nothing to move, and one size that is given is not moved."""
    whole = parse_setup(setups.SLOT).setup
    assert usual_at_end(whole, "low") is whole
    one = parse_setup(POST.replace("overhang = 35", "overhang = 35\ngripped = 60")).setup
    for side in ("low", "high"):
        assert usual_at_end(one, side).bar.gripped_mm == 60


def test_few_screws_far_from_the_face_are_the_soft_end() -> None:
    """A holder's soft end: fewer, smaller screws, farther back, on a shorter shank (statics of a lever)."""
    setup = parse_setup(POST).setup
    soft, stiff = (usual_at_end(setup, side) for side in ("low", "high"))
    assert isinstance(soft.grip, SlotGrip)
    assert isinstance(stiff.grip, SlotGrip)
    assert soft.grip.screws < stiff.grip.screws
    assert soft.grip.screw_diameter_mm < 8 < stiff.grip.screw_diameter_mm
    assert soft.grip.first_screw_mm > 12 > stiff.grip.first_screw_mm
    assert soft.bar.gripped_mm < 60 < stiff.bar.gripped_mm


def test_together_they_move_the_spring_as_independent_numbers_do() -> None:
    """With a soft seat: within a quarter of the root of the sum of squares of each alone (in logarithms)."""
    setup = parse_setup(POST).setup
    bare = sideways(with_grip(without_usual_sizes(setup), 0.12))
    sizes = [one for one in setup.usual if one.key.startswith(("bar.", "grip."))]
    assert len(sizes) == 5
    alone = [math.log(sideways(with_grip(replace(setup, usual=(one,)), 0.12)) / bare) for one in sizes]
    together = math.log(sideways(with_grip(setup, 0.12)) / bare)
    assert together == pytest.approx(math.hypot(*alone), rel=0.25)


def test_beside_the_likely_seat_they_are_small() -> None:
    """A tenth of the spring at most, where the band of the seat brings a third to over twice."""
    setup = parse_setup(POST).setup
    here = sideways(setup)
    sized = [sideways(usual_at_end(setup, side)) / here for side in ("low", "high")]
    seated = [sideways(with_grip(without_usual_sizes(setup), by)) / here for by in (0.12, 4.0)]
    assert 1 < sized[0] < 1.1 < 1.33 < seated[0]
    assert 1 > sized[1] > 0.9 > 0.8 > seated[1]


def test_the_bands_of_spring_and_note_rest_on_them() -> None:
    """The soft end of a bar's bands has a shorter grip where its length was not given."""
    usual = parse_setup(BED).setup
    given = parse_setup(BED.replace("overhang = 80", "overhang = 80\ngripped = 48")).setup
    assert at_end(usual, "low").bar.gripped_mm == pytest.approx(0.6 * 48, rel=1e-12)
    assert at_end(given, "low").bar.gripped_mm == 48
    assert sideways(at_end(usual, "low")) > sideways(at_end(given, "low"))
