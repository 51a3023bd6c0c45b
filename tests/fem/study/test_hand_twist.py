"""The hand formula beside the solid where the edge lies beside the axis."""

from __future__ import annotations

import pytest
from told_setups import RIGID

from stickout.fem.setup.file import parse_setup
from stickout.fem.study.levers import hand_difference
from stickout.fem.study.study import run_study


@pytest.mark.slow
@pytest.mark.parametrize(
    "sizes", ['section = "round"\ndiameter = 16', 'section = "rectangle"\nwidth = 6\nheight = 20']
)
def test_twist_about_an_offset_edge_is_in_the_hand_formula(sizes: str) -> None:
    """12 mm beside the axis: without the twist the solid would seem far softer than the formula."""
    text = (
        f'units = "mm"\n[bar]\n{sizes}\noverhang = 80\nmaterial = "steel"\n[edge]\noffset_z = 12\n{RIGID}\n'
    )
    setup = parse_setup(text + "\n[solve]\nmodes = 3\naccuracy = 0.01\n").setup
    apart = hand_difference(run_study(setup))
    assert apart is not None
    assert abs(apart.stiffness) < 0.03
