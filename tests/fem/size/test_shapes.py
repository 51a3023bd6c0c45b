"""Shapes that fill the same room, against plain geometry."""

from __future__ import annotations

import pytest

from stickout.fem.size.gains import shape_gains
from stickout.fem.size.job import Bore, SizeJob
from stickout.fem.size.options import shape_family


@pytest.mark.parametrize("bore_mm", [18.0, 20.0, 22.0, 25.0])
def test_no_shape_is_stiffer_than_the_round_bar_that_fills_the_same_room(bore_mm: float) -> None:
    """A full circle holds every other section of the same room inside it: none can bend less (geometry).

    For bores of 18, 22 and 25 mm a bar is sold that is smaller than the largest that fits.
    """
    gains = shape_gains(shape_family(SizeJob(Bore(bore_mm, 60.0))))
    assert gains[0].name == "round"
    assert all(one.stiffness < 1.0 for one in gains[1:])
