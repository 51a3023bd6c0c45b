"""The search for the lowest eigenpairs: none is left out because the start knows little of it."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.setup.file import parse_setup
from stickout.fem.solid.eigensearch import BlockIteration
from stickout.fem.study.study import solve_level
from stickout.meshes.pieces import Fineness


@pytest.mark.parametrize("known", [1e-3, 1e-5])
def test_a_pair_that_the_start_hardly_holds_is_found(known: float) -> None:
    """A diagonal matrix, whose eigenvalues are its entries: the start is the first, third and fifth of them.

    Of the second it holds only a trace, with which the third alone would seem to have converged.
    """
    values = np.array([1.0, 3.2, 5.0, 7.0, 9.0, 30.0, 40.0, 50.0, 60.0, 70.0])
    start = np.zeros((10, 2))
    start[[0, 2, 5], [0, 1, 1]] = 1.0, 1.0, 1e-4
    start[1] = start[6:, 1] = known
    run = BlockIteration(lambda columns: columns / values[:, None], lambda columns: columns, start=start)
    assert run.lowest(2).values == pytest.approx(values[:2], rel=1e-6)


def test_both_of_an_equal_pair_are_found_where_one_is_in_twists_company() -> None:
    """A tube's ovalling comes as an equal pair; one of the two shares its signs with twist, which starts.

    Twist's second mode was once taken for it, a quarter higher.
    """
    tube = 'section = "tube"\ndiameter = 20\nbore = 14\noverhang = 60\nmaterial = "aluminium"'
    wrap = 'material = "lead"\nthickness = 2\nstart = 0\nlength = 25\nbond = "loose"'
    setup = parse_setup(f'units = "mm"\n[bar]\n{tube}\n[wrap]\n{wrap}\n[grip]\nstyle = "rigid"\n').setup
    level = solve_level(setup, Fineness(2, 1, 0.11, 1.0, 0.11, crowd=1, steps=(2, 0, 1)))
    breathing = level.modes.frequency_hz[[kind == "breathing" for kind in level.kinds]]
    assert len(breathing) == 2
    assert breathing[0] == pytest.approx(breathing[1], rel=1e-5)
