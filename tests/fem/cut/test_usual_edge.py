"""A nose radius and an edge angle that were taken as usual widen the margins: by a cut described anew."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Final

import numpy as np
import pytest

from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.usual_edge import ANGLE, NOSE, edge_bands, edge_factors, still_usual
from stickout.fem.force.case import case_of
from stickout.fem.records.cut import cut_result_record
from stickout.fem.setup.file import parse_setup
from stickout.fem.study.study import run_study

BAR: Final = """
units = "mm"
[bar]
diameter = 16
overhang = 80
gripped = 60
material = "steel"
[grip]
style = "bed"
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
work_diameter = 24
speeds_rpm = [200, 500, 1250]
"""


@cache
def answer(nose: float | None = None, angle: float | None = None) -> CutAnswer:
    """Return the answer for the bar with an edge described as far as told."""
    text = (
        BAR + (f"nose_radius = {nose}\n" if nose else "") + (f"edge_angle_deg = {angle}\n" if angle else "")
    )
    return cut_answer(run_study(parse_setup(text).setup))


def test_each_end_is_the_margin_of_a_cut_with_that_edge() -> None:
    """The factor at an end of a band is that of the margins of two files, one with the edge written in."""
    usual = answer()
    case, bands = usual.case, edge_bands(usual.result.setup.usual)
    assert set(bands) == {NOSE, ANGLE}
    for name, ends in {NOSE: {"nose": (0.2, 0.8)}, ANGLE: {"angle": (74.7, 95.4)}}.items():
        [(word, values)] = ends.items()
        one = {name: bands[name]}
        for at, value in zip((bands[name].low, bands[name].high), values, strict=True):
            other = answer(value, 90) if word == "nose" else answer(0.4, value)
            for speed, mine in zip(usual.verdict.speeds, other.verdict.speeds, strict=True):
                found = edge_factors(
                    case, usual.both, bands=one, factors={name: np.array([at])}, speed=speed.cutting_speed
                )
                assert float(found[0]) == pytest.approx(mine.margin.likely / speed.margin.likely, rel=0.02)


def test_the_likely_edge_changes_nothing() -> None:
    """Drawn at its likely value an edge leaves the margin as it is, and the likely margins stay."""
    usual, given = answer(), answer(0.4, 90)
    case, bands = usual.case, edge_bands(usual.result.setup.usual)
    ones = {name: np.ones(3) for name in bands}
    assert edge_factors(case, usual.both, bands=bands, factors=ones, speed=0.5) == pytest.approx(
        np.ones(3), rel=1e-9
    )
    for a, b in zip(usual.verdict.speeds, given.verdict.speeds, strict=True):
        assert a.margin.likely == pytest.approx(b.margin.likely, rel=1e-9)


def test_margins_are_wider_where_the_edge_was_not_described() -> None:
    """Nine times in ten is a wider band, without the flank's rubbing and at a speed where it hardly rules."""
    usual, given = answer(), answer(0.4, 90)
    a, b = (one.verdict.speeds[-1].margin for one in (usual, given))
    assert a.high / a.low > 1.02 * b.high / b.low
    wide, narrow = usual.spread.margin, given.spread.margin
    assert wide.high / wide.low > 1.03 * narrow.high / narrow.low
    assert {NOSE, ANGLE} <= set(wide.shares)
    assert not {NOSE, ANGLE} & set(narrow.shares)


def test_the_result_file_lists_what_they_widen() -> None:
    """JSON: band and share of each among the uncertainties, value and source among the assumptions."""
    record = cut_result_record(answer(), tool="stickout", version="0")
    assert record["cut"]["uncertainty"][NOSE] == {
        "low": pytest.approx(0.5),
        "high": pytest.approx(2.0),
        "share": pytest.approx(answer().spread.margin.shares[NOSE]),
    }
    [listed] = [one for one in record["assumptions"] if one["name"] == "cut.nose_radius, usual"]
    assert (listed["low"], listed["high"]) == (pytest.approx(0.0002), pytest.approx(0.0008))
    assert listed["source"] == "common practice, no source"


def test_a_number_that_is_chosen_is_no_longer_a_guess() -> None:
    """A smaller nose tried as a change is known; the angle stays as unsure as it was."""
    case = answer().case
    bands = edge_bands(answer().result.setup.usual)
    assert set(still_usual(bands, case=case, changed=case)) == {NOSE, ANGLE}
    assert set(still_usual(bands, case=case, changed=case_of(replace(case.cut, nose_radius_mm=0.2)))) == {
        ANGLE
    }


def test_a_usual_nose_is_no_smaller_than_the_feed_passes() -> None:
    """Feed 0.5 with a nose of 0.4: half of the nose would be passed by the feed; the band ends before."""
    text = BAR.replace("feed = 0.05", "feed = 0.5")
    [nose] = [one for one in parse_setup(text).setup.usual if one.key == "cut.nose_radius"]
    assert 2 * nose.band.low > 0.5
    assert nose.band.low < nose.band.likely < nose.band.high
