"""A bar of many small shoulders: answered without a line of cells for each, and told as it is."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.revolved import bar
from stickout.fem.revolved.bar import cells_of
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study.of_revolution import SPACES, revolved_bar
from stickout.fem.study.study import limit_of


def staircase(steps: int, *, apart: float) -> Setup:
    """Return a rigidly held bar of 20 mm whose diameter falls by 0.3 mm at every step."""
    every = "".join(
        f"[[bar.steps]]\nstart = {apart * n:.2f}\ndiameter = {20 - 0.3 * n:.1f}\n"
        for n in range(1, steps + 1)
    )
    sizes = 'section = "round"\ndiameter = 20\noverhang = 60\nmaterial = "steel"'
    return parse_setup(f'units = "mm"\n[bar]\n{sizes}\n{every}[grip]\nstyle = "rigid"\n').setup


@pytest.mark.parametrize("apart", [0.3, 5.0])
def test_told_errors_cover_what_shoulders_graded_one_by_one_tell(
    apart: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nine steps, against a space that grades every shoulder; it is off by less than half of what is told."""
    setup = staircase(9, apart=apart)
    limit = limit_of(setup)
    plain = revolved_bar(setup)
    assert plain.crowded
    monkeypatch.setattr(bar, "_MANY_RADII", 99)
    fine = solve(plain, SPACES[1], wanted=6)
    assert np.all(np.abs(limit.frequency_hz[:6] / fine.frequency_hz - 1) <= limit.error[:6])
    side = np.sqrt(np.diag(fine.compliance))
    off = np.abs(limit.compliance - fine.compliance) / np.outer(side, side)
    assert np.all(off <= limit.compliance_error)
    assert limit.reached


def test_thirty_steps_take_few_cells() -> None:
    """No cells drawn together: one line a radius, one station a step, and what a plain bar has."""
    plain, steps = (revolved_bar(staircase(n, apart=1.5)) for n in (0, 30))
    few, many = (cells_of(one, SPACES[1], waves=2.0) for one in (plain, steps))
    assert len(many.r) <= len(few.r) + 30
    assert len(many.x) <= len(few.x) + 30 + 2
