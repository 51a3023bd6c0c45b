"""Front against rear: what the comparison leaves out is said."""

from __future__ import annotations

import pytest
import setups

from stickout.cli.text.comparison_screen import comparison_screen
from stickout.fem.compare.compare import compare
from stickout.fem.setup.file import parse_setup

TURNED = setups.CUTTING.replace('"boring"', '"turning"') + "[solve]\nmodes = 2\naccuracy = 0.02\n"


@pytest.mark.parametrize(("change", "told"), [("cut.rear_tool=true", True), ("cut.feed=0.06", False)])
def test_a_tool_at_the_rear_is_told_with_what_is_left_out(change: str, told: bool) -> None:
    """Only where front and rear stand side by side; the posts themselves are in neither."""
    both = [parse_setup(TURNED, changes=one).setup for one in ([], [change])]
    text = " ".join(comparison_screen(compare(both, names=["front", "other"])).split())
    assert ("Front against rear leaves out what differs most: the other post" in text) is told
