"""What is seldom meant is said before any answer; what cannot be is refused; good set-ups hear nothing."""

from __future__ import annotations

import pytest
import setups

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.setup_error import SetupError

BORING = setups.CUTTING
CARBIDE = setups.ROUND.replace('"steel"', '"cemented carbide"')
SQUARE = """
units = "mm"
[bar]
section = "square"
width = 12
overhang = 30
gripped = 45
material = "steel"
[grip]
style = "held"
"""
BLADE = setups.BLADE.replace("medium carbon steel", "aluminium")


def changed(text: str, *changes: str) -> list[str]:
    """Return the warnings of a set-up with changes as the command line writes them."""
    return list(parse_setup(text, changes=changes).warnings)


@pytest.mark.parametrize(
    ("text", "changes", "words"),
    [
        # Trade rules, common practice, no source: steel 6, carbide 8, slenderest 30.
        (setups.ROUND, ["bar.overhang=97"], ["6.1 times", "steel", "given up past 6"]),
        (CARBIDE, ["bar.overhang=129"], ["8.1 times", "carbide", "given up past 8"]),
        (setups.ROUND, ["bar.overhang=500"], ["31 times", "whips"]),
        (SQUARE, ["bar.overhang=73"], ["6.1 times", "steel"]),
        (setups.ROUND, ["bar.gripped=30", "bar.overhang=60"], ["30 mm", "1.9 times", "held"]),
        (SQUARE, ["bar.gripped=20"], ["20 mm", "held"]),
        (setups.ROUND, ["bar.gripped=20"], ["80 mm", "20 mm", "changed places"]),
        (setups.ROUND, ["bar.diameter=0.625", "bar.overhang=3", "bar.gripped=2.5"], ["0.625 mm", "inch"]),
        (BORING, ["cut.feed=0.002"], ["0.002 mm", "0.0508 mm", "inches"]),
        (setups.ROUND, ["units=inch"], ["16 in", "millimetres"]),
        (BORING, ["units=inch", "bar.diameter=0.6", "bar.overhang=3", "bar.gripped=2", "cut.feed=0.15",
                  "cut.depth=0.2", "cut.nose_radius=0.2"], ["0.15 in", "millimetres"]),
    ],
)  # fmt: skip
def test_what_is_seldom_meant_is_said(text: str, changes: list[str], words: list[str]) -> None:
    """One warning each, with the number that was given."""
    [warning] = changed(text, *changes)
    assert [word for word in words if word not in warning] == []


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        (setups.ROUND, []),
        (setups.ROUND, ["bar.overhang=96"]),
        (CARBIDE, ["bar.overhang=128"]),
        (setups.ROUND, ["bar.gripped=32"]),
        (setups.ROUND, ["bar.diameter=0.625", "bar.overhang=3", "bar.gripped=2.5", "units=inch"]),
        (SQUARE, []),
        (BLADE, []),  # ten times its width, not twice its height
        (BORING, []),
    ],
)
def test_a_good_set_up_hears_nothing(text: str, changes: list[str]) -> None:
    """The very edge of each rule is still inside."""
    assert changed(text, *changes) == []


@pytest.mark.parametrize(("work", "refused"), [(16.0, True), (15.0, True), (16.5, False)])
def test_a_bar_that_does_not_go_into_its_hole_is_refused(work: float, refused: bool) -> None:
    """Geometry: the bar at its free end; a shaft may well be thinner than the tool that turns it."""
    change = f"cut.work_diameter={work}"
    if not refused:
        assert changed(BORING, change) == []
        return
    with pytest.raises(SetupError, match=r"cut.work_diameter is .* must be above the size of the bar"):
        parse_setup(BORING, changes=[change])
    assert changed(BLADE, "cut.work_diameter=6") == []


def test_a_bar_turned_down_at_its_end_goes_in() -> None:
    """Only what enters the hole counts."""
    stepped = setups.ROUND.replace("[grip]", "[[bar.steps]]\nstart = 30\ndiameter = 9\n[grip]")
    assert changed(stepped + '[cut]\noperation = "boring"\nwork_diameter = 11\n') == []
