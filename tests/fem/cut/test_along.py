"""A part cut at several places, speeds between the lobes, and a tube that is plugged for its centre."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from answers import EXAMPLES

from stickout.cli.text.stations_words import angle_line, pockets_line, stations_line, wall_line
from stickout.fem import read_setup
from stickout.fem.beam.not_round import bending_angles
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.flank import flank_of
from stickout.fem.records.cut import cut_result_record
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Steady, Work, WorkStep
from stickout.fem.study.study import run_study
from stickout.fem.work.answer import work_answer

COARSE = ("solve.accuracy=0.03",)


def setup_of(name: str, *changes: str) -> Setup:
    """Return an example with changes, coarse."""
    return read_setup(Path(EXAMPLES) / f"{name}.toml", changes=(*changes, *COARSE)).setup


def answer_of(name: str, *changes: str) -> CutAnswer:
    """Return the answer on the cut of an example with changes."""
    return cut_answer(run_study(setup_of(name, *changes)))


@pytest.fixture(scope="module")
def several() -> CutAnswer:
    """Return the shaft between centres, cut at three places."""
    return answer_of("shaft_between_centres", "work.cut_at=[240, 60, 150]")


def test_it_sings_first_where_each_place_alone_says(several: CutAnswer) -> None:
    """Every place is that of a set-up which cuts there alone; the worst one is told."""
    assert [one.at_mm for one in several.along] == [60, 150, 240]
    for one in several.along:
        alone = answer_of("shaft_between_centres", f"work.cut_at={one.at_mm}")
        assert one.margin == pytest.approx(min(at.margin.likely for at in alone.verdict.speeds), rel=1e-6)
        assert alone.along == ()
    assert several.result.setup.work is not None
    assert several.result.setup.work.cut_at_mm == 150
    assert several.margin == pytest.approx(min(one.margin for one in several.along), rel=1e-6)


def test_places_are_told_in_words_and_in_the_file(several: CutAnswer) -> None:
    """The line names the worst place first; the file has all of them."""
    line = stations_line(several.along, "mm")
    assert line.startswith("Of its places it sings first at 150 mm")
    assert "60 mm" in line
    assert "240 mm" in line
    cut = cut_result_record(several, tool="stickout", version="0")["cut"]
    assert [one["at_m"] for one in cut["stations"]] == [0.06, 0.15, 0.24]
    assert cut["pockets"] is None


def test_a_steady_keeps_clear_of_every_place(several: CutAnswer) -> None:
    """Fingers where the second place is cut are in the way there."""
    setup = several.result.setup
    assert setup.work is not None
    faults = [
        one.key for one in setup_faults(replace(setup, work=replace(setup.work, steadies=(Steady(61),))))
    ]
    assert faults == ["work.steadies.1.at"]


def test_good_speeds_lie_where_whole_waves_fit_a_turn() -> None:
    """Between lobes the part's note makes a whole number of waves a turn (theory; recalled, not opened)."""
    answer = answer_of("shaft_between_centres", "cut.speeds_rpm=[5000, 10000]")
    found, work = answer.pockets, answer.work
    assert found is not None
    assert work is not None
    note = float(work.omega[0]) / (2 * np.pi)
    waves = 60 * note / found.best_rpm
    assert waves == pytest.approx(round(waves), abs=0.2)
    assert found.best_margin > 1.5 * answer.margin
    # The same equation at that speed alone.
    flank = flank_of(answer.case) / (np.pi * 0.016 * found.best_rpm / 60)
    real = limits_at_speeds(answer.both, answer.case.stiffness, speeds_rpm=[found.best_rpm], flank=flank)
    assert found.best_margin == pytest.approx(float(real.margin[0]), rel=0.02)
    assert found.shift[0] < 1.0 < found.shift[1]
    assert found.shift[1] < 1.3
    assert ("Good speeds" in pockets_line(answer)) is bool(found.quiet)


def test_many_waves_a_turn_have_no_good_speed(several: CutAnswer) -> None:
    """At 1200 rpm 18 waves fit on a turn: nothing is said."""
    assert several.pockets is None
    assert pockets_line(several) == ""


def test_a_thin_wall_is_said_to_be_counted() -> None:
    """The ring of 60 by 2 rings from 1516 Hz as a free one [B.tube]; a solid shaft has no wall."""
    assert "from 1.52 kHz up; this limit counts it" in wall_line(setup_of("thin_ring"))
    assert wall_line(setup_of("slender_shaft")) == ""
    plugged = replace(
        setup_of("thin_ring"), work=Work(60, 80, "chuck and centre", 40, 56, (WorkStep(70, None, 0),))
    )
    assert "this limit leaves that out" in wall_line(plugged)


def test_a_plugged_tube_stands_on_a_centre() -> None:
    """Open it is a mistake; a plug of 20 mm makes it a part like others, little softer than a solid end."""
    setup = setup_of("thin_ring")
    tube = Work(60, 80, "chuck and centre", 60, bore_mm=56)
    plugged = replace(tube, steps=(WorkStep(60, bore_mm=0.0),))
    assert "work.held" in [one.key for one in setup_faults(replace(setup, work=tube))]
    assert list(setup_faults(replace(setup, work=plugged))) == []
    stiff = [
        float(work_answer(replace(setup, work=one)).stiffness[1].min())
        for one in (replace(tube, held="chuck"), plugged)
    ]
    assert stiff[1] > 2 * stiff[0]


def test_a_keyway_splits_the_pair() -> None:
    """A keyway of 6 by 3 in 20 mm puts one note 8.3 % under the other [B.keyway]."""
    angles = bending_angles(Work(20, 150, "chuck", 140, form="keyway", keyway_width_mm=6, keyway_depth_mm=3))
    assert 1 - np.sqrt(angles.weak / angles.strong) == pytest.approx(0.083, abs=0.001)
    assert angles.area == pytest.approx(1 - 17.1 / 314.2, abs=0.002)


def test_hexagon_and_flats_by_closed_forms() -> None:
    """Six sides bend alike all round, 0.5413 a^4 (Roark; recalled, not opened), four too; flats: a strip."""
    hexagon = bending_angles(Work(20, 150, "chuck", 140, form="hexagon"))
    assert hexagon.weak == hexagon.strong == pytest.approx(0.5413 / (np.pi / 4), rel=1e-3)
    square = bending_angles(Work(20, 150, "chuck", 140, form="square"))
    assert square.weak == square.strong == pytest.approx(200**2 / 12 / (np.pi / 4 * 10**4))
    assert square.area == pytest.approx(200 / (np.pi * 100))
    strip = bending_angles(Work(20, 150, "chuck", 140, form="flats", across_flats_mm=2))
    assert strip.weak * np.pi / 4 * 10**4 == pytest.approx(20 * 2**3 / 12, rel=0.02)


def test_between_the_weakest_angle_and_the_mean_is_grey() -> None:
    """The weak angle's margin is the lower; the word follows both; a round part says nothing."""
    answer = answer_of("slender_shaft", "work.form=flats", "work.across_flats=9")
    found = answer.angle
    assert found is not None
    assert found.weakest < found.mean == pytest.approx(answer.margin, rel=1e-6)
    assert "it sings on average already" in angle_line(answer)
    grey = replace(answer, angle=replace(found, weakest=0.8, mean=1.3))
    assert "grey: quiet on average, not at its weakest" in angle_line(grey)
    assert angle_line(replace(answer, angle=None)) == ""


@pytest.mark.parametrize(
    ("sizes", "key"),
    [
        ({"form": "star"}, "work.form"),
        ({"form": "flats"}, "work.across_flats"),
        ({"form": "keyway", "keyway_width_mm": 4.0, "keyway_depth_mm": 40.0}, "work.keyway_depth"),
        ({"keyway_width_mm": 4.0}, "work.keyway_width"),
        ({"form": "hexagon", "bore_mm": 6.0}, "work.form"),
    ],
)
def test_a_form_needs_its_own_sizes(sizes: dict[str, Any], key: str) -> None:
    """One message each."""
    setup = setup_of("slender_shaft")
    faults = setup_faults(replace(setup, work=Work(20, 90, "chuck", 60, **sizes)))
    assert [one.key for one in faults] == [key]
