"""What a worn edge and a speed do to the answer on a cut, by arithmetic on the words of the set-up file."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from cutting_cases import ROUND, answer

from stickout.cli.text.cut_answer import cut_text
from stickout.fem.cut.answer import cut_answer
from stickout.fem.records.cut import cut_result_record


def test_a_worn_edge_costs_the_margin_its_factor() -> None:
    """Kienzle's factor multiplies force and stiffness: 1.3 costs the dry margin as much."""
    sharp = answer("round")
    assert ROUND.cut is not None
    worn_cut = replace(ROUND, cut=replace(ROUND.cut, wear_factor=1.3))
    worn = cut_answer(replace(sharp.result, setup=worn_cut))
    assert float(sharp.limit.margin) == pytest.approx(1.3 * float(worn.limit.margin), rel=1e-6)
    assert worn.case.force.c == pytest.approx(1.3 * sharp.case.force.c)
    assert worn.spring_off.radial == pytest.approx(1.3 * sharp.spring_off.radial)
    # The flank rubs no harder for it, so the margin with the flank falls by as much or less.
    assert sharp.margin / 1.3 * (1 - 1e-6) <= worn.margin < sharp.margin


def test_cutting_speeds_are_pi_d_n() -> None:
    """24 mm at 120, 500 and 1250 rpm: pi d n, in m/min; the wave is the speed over the note."""
    told = cut_result_record(answer("round"), tool="t", version="0")["cut"]
    for one, rpm in zip(told["speeds"], (120.0, 500.0, 1250.0), strict=True):
        assert one["rpm"] == rpm
        assert one["cutting_speed_m_per_min"] == pytest.approx(math.pi * 0.024 * rpm)
        speed = one["cutting_speed_m_per_min"] / 60
        assert one["wavelength_mm"] == pytest.approx(1e3 * speed / one["chatter_hz"], rel=1e-9)
        # The usual clearance is 7 degrees: the back of the edge meets a sine at its steepest slope.
        ceiling = one["wavelength_mm"] * 1e3 * math.tan(math.radians(7)) / (2 * math.pi)
        assert one["ceiling_um"] == pytest.approx(ceiling, rel=1e-9)
        assert one["waves_per_turn"] == pytest.approx(60 * one["chatter_hz"] / rpm, rel=1e-9)
    json.dumps(told, allow_nan=False)


def test_the_printed_speeds_are_pi_d_n() -> None:
    """The table of --more: 9, 38 and 94 m/min."""
    rows = {line.split()[0]: line for line in cut_text(answer("round")).splitlines() if line.split()}
    for rpm, speed in (("120", "9"), ("500", "38"), ("1250", "94")):
        assert rows[rpm].split()[1] == speed, rows[rpm]
