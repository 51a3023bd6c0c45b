"""Changes solved anew on one coarse mesh, against whole studies; what cannot be changed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from answers import EXAMPLES

from stickout.fem.setup.changes import thickened, with_overhang
from stickout.fem.setup.file import read_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study import levers
from stickout.fem.study.coarse import coarse_level
from stickout.fem.study.study import limit_of, run_study
from stickout.meshes.parts import Step

pytestmark = pytest.mark.slow


def setup_of(name: str) -> Setup:
    """Return the set-up of an example."""
    return read_setup(EXAMPLES / f"{name}.toml").setup


@pytest.mark.parametrize("name", ["boring_bar_16mm", "slot_tool_bare"])
def test_the_coarse_mesh_is_good_enough_for_ratios(name: str) -> None:
    """A fifth less overhang: spring over old spring within 1 % of two whole studies."""
    result = run_study(setup_of(name))
    new = with_overhang(result.setup, 0.8 * result.setup.bar.overhang_mm)
    assert new is not None
    lever = levers.rerun(result, [new])[0]
    assert lever.compliance_along == pytest.approx(
        run_study(new).compliance_along / result.compliance_along, rel=0.01
    )


def test_nothing_is_solved_for_no_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Processor time: the old set-up is solved again only where there is something to compare with."""
    monkeypatch.setattr(levers, "coarse_level", None)
    assert levers.rerun(run_study(setup_of("flatted_bar_30deg")), []) == []


def test_a_thicker_bar_must_enter_the_bore() -> None:
    """A 16 mm bar in a 24 mm bore may grow by 4 mm, not by 8."""
    setup = setup_of("boring_bar_16mm")
    grown = thickened(setup, 4.0)
    assert grown is not None
    assert grown.bar.diameter_mm == 20.0
    assert thickened(setup, 8.0) is None


def test_a_step_shorter_than_the_lever_gives_none() -> None:
    """A step 2 mm from the holder cannot be drawn in by 5 mm."""
    setup = setup_of("stepped_bar")
    near = replace(setup, bar=replace(setup.bar, steps=(Step(start_mm=2.0, diameter_mm=12.0),)))
    assert with_overhang(near, near.bar.overhang_mm - 5.0) is None
    assert with_overhang(near, near.bar.overhang_mm - 1.0) is not None


@pytest.mark.parametrize("name", ["boring_bar_16mm", "tube_bar", "stepped_bar"])
def test_a_round_bar_solved_coarsely_is_near_its_limit(name: str) -> None:
    """Another space of polynomials, and its limit: within what the coarse mesh is good for, 1 %."""
    setup = setup_of(name)
    level, limit = coarse_level(setup), limit_of(setup)
    n = setup.solve.modes
    assert level.modes.frequency_hz[:n] == pytest.approx(limit.frequency_hz[:n], rel=5e-3)
    assert level.compliance == pytest.approx(limit.compliance, rel=0.01, abs=0.01 * limit.compliance.max())
    assert list(level.kinds[:n]) == list(limit.finest.kinds[:n])
