"""One margin: whoever is asked about a cut, the same set-up gives the same margin, depth, pitch and chance.

The commands go different ways to it (a sweep keeps plain numbers, a comparison draws its inputs, the page
meshes once); what they say must be what ``cut`` says.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
import setups

from stickout.cli.commands.report import told_of
from stickout.cli.live.answer import answer as page_answer
from stickout.cli.show.pages.report import report_page
from stickout.fem.absorber.plan import absorber_plan
from stickout.fem.absorber.shapes import PLUG, AbsorberJob
from stickout.fem.compare.compare import Comparison, compare
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.force.case import cut_case
from stickout.fem.records.comparison import comparison_record
from stickout.fem.records.cut import cut_result_record
from stickout.fem.setup.file import parse_setup, parse_tables
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.parts import Setup
from stickout.fem.study.study import run_study
from stickout.fem.sweep.batches import Outcome
from stickout.fem.sweep.case_answer import answer_of
from stickout.fem.sweep.case_row import row_of

QUICK = "[solve]\nmodes = 4\naccuracy = 0.01\n"
COARSE = "[solve]\nmodes = 2\naccuracy = 0.03\n"
TURNING = """
title = "Inch turning"
units = "inch"
[bar]
section = "round"
diameter = 0.5
overhang = 2
gripped = 2
material = "steel"
[grip]
style = "bed"
[cut]
operation = "turning"
work_material = "mild steel"
depth = "10 thou"
feed = "3 thou"
nose_radius = "15 thou"
edge_angle_deg = 90
work_diameter = 1
"""
SLUG = "[absorber]\nmass_g = 20\nfrequency_hz = 1100\ndamping_ratio = 0.15\nposition = 75\n"
CASES = {
    "boring at speeds": setups.ROUND + setups.CUT + QUICK,
    "turning, inch, no speeds": TURNING + QUICK,
    "absorber": setups.ROUND + setups.CUT + SLUG + QUICK,
    "turning long work": setups.changed(setups.ROUND, "80", "40")
    + setups.changed(setups.changed(setups.CUT, "boring", "turning"), "= 24", "= 20")
    + setups.WORK
    + QUICK,
}


@cache
def whole(name: str) -> tuple[Setup, CutAnswer]:
    """Return a set-up and what ``cut`` says of it."""
    setup = parse_setup(CASES[name]).setup
    return setup, cut_answer(run_study(setup))


def said(verdict: Any, margin: Any, depth: Any) -> list[float]:
    """Return margin and depth with their bands, chances and pitches as one run of numbers."""
    speeds = [(one.margin.likely, one.p_quiet, one.chatter_hz) for one in verdict.speeds]
    return [margin.low, margin.likely, margin.high, *depth, *(n for one in speeds for n in one)]


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_everybody_says_what_cut_says(name: str) -> None:
    """Cut, compare, sweep, report and page; the page's first mesh is off by what it tells."""
    setup, answer = whole(name)
    verdict = answer.verdict
    worst = verdict.speeds[verdict.worst]
    wanted = said(verdict, worst.margin, verdict.depth)
    # The margin is that of the one function.
    assert answer.margin == pytest.approx(float(speed_margins(answer.case, answer.both).least), rel=1e-9)
    # compare: its record, first entry.
    entry = compare([setup]).first
    assert entry.cut is not None
    depth = entry.cut.depth
    assert said(entry.cut.verdict, entry.cut.margin, (depth.low, depth.likely, depth.high)) == pytest.approx(
        wanted, rel=1e-9
    )
    assert entry.values["cut_margin"].likely == pytest.approx(answer.margin, rel=1e-9)
    # sweep: a row.
    row = row_of(Outcome(0, answer_of(answer.result), None), setup=setup)
    found = [row[f"margin{end}"] for end in ("_low", "", "_high")]
    found += [row[f"depth_limit{end}_mm"] for end in ("_low", "", "_high")]
    found += [row["p_quiet"], row["chatter_hz"]]
    numbers = [*wanted[:3], *(1e3 * one for one in wanted[3:6]), worst.p_quiet, worst.chatter_hz]
    assert found == pytest.approx(numbers, rel=1e-6)
    assert row["verdict"] == worst.verdict
    # report: every figure is that of the record, and the words open it.
    page = report_page(told_of(answer.result))
    record = cut_result_record(answer, tool="t", version="v")["cut"]
    assert record["margin"]["likely"] == pytest.approx(answer.margin, rel=1e-12)
    assert f'data-key="cut.speeds.{verdict.worst}.margin.likely"' in page
    # page: the full answer is the same, the quick one within twice its mesh's error.
    job = {"tables": parse_tables(CASES[name]), "changes": {}, "speed": None}
    full, quick = (page_answer(job | {"full": one}) for one in (True, False))
    assert full["cut"]["likely"] == pytest.approx(answer.margin, rel=1e-5)
    assert [full["cut"][end] for end in ("low", "high")] == pytest.approx(
        [finite(worst.margin.low), finite(worst.margin.high)], rel=1e-5
    )
    assert quick["cut"]["verdict"] == full["cut"]["verdict"]
    assert quick["cut"]["likely"] == pytest.approx(answer.margin, rel=0.03)


def finite(value: float) -> float | None:
    """Return a number as JSON has it."""
    return value if math.isfinite(value) else None


@pytest.mark.slow
def test_the_force_turned_through_a_circle() -> None:
    """compare, its rivals and cut agree whatever way the force points; and it does change the margin."""
    base = parse_setup(setups.changed(setups.FLATTED, '"bed"', '"rigid"') + setups.CUT + COARSE).setup
    assert base.cut is not None
    margins = []
    for angle in np.radians([15.0, 135.0, 255.0]):
        cut = replace(base.cut, force_direction=(0.1, float(np.sin(angle)), float(np.cos(angle))))
        found: Comparison = compare([replace(base, cut=cut)])
        for entry in found.entries:
            assert entry.cut is not None
            own = cut_answer(entry.result).margin
            assert entry.values["cut_margin"].likely == pytest.approx(own, rel=1e-9)
            # Another route: the model of the entry in the stability equation with the cut's own matrix.
            direct = speed_margins(cut_case(entry.result.setup), entry.cut.likely.both).least
            assert entry.cut.margin.likely == pytest.approx(float(direct), rel=1e-9)
        assert comparison_record(found, sentences={}, tool="t", version="v")["entries"][0]["cut"] is not None
        margins.append(found.first.values["cut_margin"].likely)
    assert max(margins) > 1.5 * min(margins)


@pytest.mark.slow
def test_a_planned_absorber_is_judged_by_cut() -> None:
    """``size --absorber`` tells before and after; both are what ``cut`` says of those set-ups."""
    setup = parse_setup(setups.changed(CASES["boring at speeds"], "overhang = 80", "overhang = 110")).setup
    plan = absorber_plan(AbsorberJob(setup, PLUG, [STEEL], bore_mm=9.0))
    for judged, one in ((plan.before, replace(setup, absorber=None)), (plan.after, plan.best.setup)):
        answer = cut_answer(run_study(one))
        assert judged is not None
        assert judged.margin.likely == pytest.approx(answer.margin, rel=1e-6)
        chances = [speed.p_quiet for speed in judged.verdict.speeds]
        assert chances == pytest.approx([speed.p_quiet for speed in answer.verdict.speeds], rel=1e-6)
