"""Two changes at once and a carbide bar against whole reruns; where a change alone will do, no pair."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.setup.changes import with_material, with_overhang
from stickout.fem.setup.file import read_setup
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.parts import Setup
from stickout.fem.study.study import run_study

PRACTICE = Path(__file__).parents[2] / "data" / "practice"


@cache
def answer(name: str) -> CutAnswer:
    """Return the answer to an everyday set-up."""
    return cut_answer(run_study(read_setup(PRACTICE / f"{name}.toml").setup))


def rerun(found: CutAnswer, setup: Setup) -> tuple[float, float]:
    """Return margin and chance of another set-up at the speed that the changes are told at."""
    there = cut_answer(run_study(setup)).verdict.speeds[found.verdict.speeds.index(found.verdict.stated)]
    return there.margin.likely, there.p_quiet


def test_a_pair_is_what_both_changes_give_together() -> None:
    """A 16 mm bar, 5 out, at 500 rpm: nothing alone makes it quiet, shorter and a sharper nose does."""
    found = answer("b07")
    [pair] = [one for one in found.levers if one.key == "pair"]
    assert pair.quiet
    free = [one for one in found.levers if one.price not in ("time", "new bar") and one is not pair]
    assert not any(one.quiet for one in free)
    less, nose = pair.parts
    assert (less.key, nose.key) == ("overhang", "nose_radius")
    setup = with_overhang(found.result.setup, float(less.change))
    assert setup is not None
    assert setup.cut is not None
    both = replace(setup, cut=replace(setup.cut, nose_radius_mm=float(nose.change)))
    margin, p_quiet = rerun(found, both)
    assert pair.after.margin == pytest.approx(margin, rel=0.01)
    # The grip of the shorter bar is taken as unsure as this one's.
    assert pair.after.p_quiet == pytest.approx(p_quiet, abs=0.02)


def test_a_carbide_bar_is_rerun_and_comes_last() -> None:
    """The same bar in another metal, its seat as before."""
    found = answer("b07")
    lever = found.levers[-1]
    assert (lever.key, lever.price) == ("material", "new bar")
    carbide = with_material(found.result.setup, "bar", material=MATERIALS["cemented carbide"])
    margin, p_quiet = rerun(found, carbide)
    assert lever.after.margin == pytest.approx(margin, rel=0.01)
    # The seat decides more under a stiffer bar; its band is taken as that of the steel one.
    assert lever.after.p_quiet == pytest.approx(p_quiet, abs=0.05)


def test_no_pair_where_one_change_will_do_and_no_carbide_shank() -> None:
    """A turning tool that is quiet 30 mm out needs nothing else, and is not bought in carbide."""
    found = answer("t02")
    assert any(one.quiet for one in found.levers if one.key == "overhang")
    assert not [one for one in found.levers if one.key in ("pair", "material")]
