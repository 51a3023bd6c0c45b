"""A bar of many small shoulders: answered without a line of cells for each, and told as it is."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.revolved import bar, cells
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study.of_revolution import SPACES, revolved_bar, space_work
from stickout.fem.study.study import limit_of


def staircase(steps: int, *, apart: float, fall: float = 0.3) -> Setup:
    """Return a rigidly held bar of 20 mm whose diameter falls by as much [mm] at every step."""
    every = "".join(
        f"[[bar.steps]]\nstart = {apart * n:.2f}\ndiameter = {20 - fall * n:.2f}\n"
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


def test_work_grows_with_the_number_of_steps_and_no_faster() -> None:
    """A step has lines of its own and its neighbours' radii: twice as many steps, hardly more than twice."""
    thirty, sixty = (space_work(staircase(n, apart=0.9, fall=0.1), SPACES[1]) for n in (30, 60))
    assert sixty < 2.2 * thirty


def test_lines_that_only_some_lengths_have_leave_the_answer_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same cells with every radius in every length: less is free to move in the lesser space."""
    setup = staircase(9, apart=5.0)
    few = solve(revolved_bar(setup), SPACES[2], wanted=6)
    monkeypatch.setattr(cells, "_APART", 0.0)
    many = solve(revolved_bar(setup), SPACES[2], wanted=6)
    assert few.unknowns < 0.9 * many.unknowns
    assert np.all(few.frequency_hz > many.frequency_hz * (1 - 1e-9))
    assert few.frequency_hz == pytest.approx(many.frequency_hz, rel=1e-4)


def test_shapes_are_whole_across_a_shoulder() -> None:
    """Just before and just behind every shoulder a point moves alike, and the end face as the edge does."""
    setup = staircase(9, apart=5.0)
    found = solve(revolved_bar(setup), SPACES[1], wanted=4)
    x = 1e-3 * np.array([5.0 * n + side * 1e-6 for n in range(1, 10) for side in (-1, 1)])
    for radius, angle in ((0.0, 0.0), (4.1e-3, 1.0), (8.4e-3, 4.0)):
        points = np.stack(
            [x, np.full_like(x, radius * np.cos(angle)), np.full_like(x, radius * np.sin(angle))]
        )
        moved = found.motion(points.T)
        assert moved[:, ::2] == pytest.approx(moved[:, 1::2], abs=1e-5 * np.abs(moved).max())
    tip = found.motion(np.array([[60e-3, 0.0, 0.0]]))[:, 0]
    assert tip == pytest.approx(found.edge, abs=2e-2 * np.abs(found.edge).max())
