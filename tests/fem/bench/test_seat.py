"""When a pull opens its seat, and which part of the movement is the bar's own bending."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES
from setups import ROUND
from values import assert_close, check_value

from stickout.fem import read_setup
from stickout.fem.bench.pull import Pull
from stickout.fem.bench.seat import bar_compliance, opening_force, read_pulls, seat_opens
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_setup

LOADS = np.array([0.0, 20, 40, 60, 80, 60, 40, 20, 0])


def pulled(compliance: float, *, base: str = "post", load_at: float = 0.08, dial_at: float = 0.08) -> Pull:
    """Return even readings of a compliance [m/N]."""
    return Pull(base, load_at, dial_at, LOADS, compliance * LOADS)


def test_a_seat_under_linear_pressure() -> None:
    """As the table has them. [A2.open.*]."""
    assert_close("A2.open.up", opening_force(600.0, load_at=80.0, gripped=60.0, toward_floor=False))
    assert_close("A2.open.down", opening_force(600.0, load_at=80.0, gripped=60.0, toward_floor=True))


def test_the_moment_that_opens_a_seat() -> None:
    """By statics: at the opening force the pressure at the front edge is nothing, at the rear it is twice."""
    screws, gripped, load_at = 1000.0, 0.06, 0.05
    force = opening_force(screws, load_at=load_at, gripped=gripped, toward_floor=False)
    # The floor carries the screws less the lift; its pressure is linear, so its resultant stands two thirds
    # of the gripped length from the front edge where that bears nothing.
    floor = screws - force
    about_front = screws * gripped / 2 - floor * 2 / 3 * gripped
    assert about_front == pytest.approx(-force * load_at, rel=1e-9)


@pytest.mark.parametrize(("dial", "key"), [(0.08, "80"), (0.075, "75"), (0.04, "40")])
def test_the_bar_itself_at_other_places(dial: float, key: str) -> None:
    """Compliances of the standard bar less its root springs, plus shear, left out there. [A2.cross.*]."""
    seen = float(check_value(f"A2.cross.{key}").value)
    # Cowper's coefficient of a round section, 0.886; shear modulus 79 GPa, as steel has it.
    shear = 1e6 * dial / (0.886 * 79e9 * np.pi * 0.008**2)
    bar = seen - 1e6 * (1 / 50e6 + 0.08 * dial / 2e4) + shear
    setup = parse_setup(ROUND).setup
    for one in (pulled(1e-7, dial_at=dial), pulled(1e-7, load_at=dial, dial_at=0.08)):
        assert 1e6 * bar_compliance(one, setup).likely == pytest.approx(bar, rel=5e-3)


def test_one_pull_is_split_by_the_computed_bar() -> None:
    """The tool computed, the grip is the rest; with the dial on the bed what carries it is in that."""
    setup = parse_setup(ROUND).setup
    bar = bar_compliance(pulled(1e-7), setup).likely
    told = read_pulls([pulled(bar + 0.2e-6)], setup=setup)
    assert told.computed
    assert told.split["grip"].likely == pytest.approx(0.2e-6, rel=1e-3)
    assert set(read_pulls([pulled(bar + 0.3e-6, base="bed")], setup=setup).split) == {
        "tool",
        "grip and carrier",
    }
    every = [pulled(bar + 0.3e-6, base="bed"), pulled(bar + 0.2e-6)]
    assert read_pulls(every, setup=setup).split["carrier"].likely == pytest.approx(0.1e-6, rel=1e-3)
    assert read_pulls(every).split.keys() == {"carrier"}
    elsewhere = [every[0], pulled(bar, load_at=0.05, dial_at=0.05)]
    assert "carrier" not in read_pulls(elsewhere, setup=setup).split


def test_when_the_seat_opens() -> None:
    """Only under screws and pulled up; a told torque narrows it and counts in proportion."""
    setup = read_setup(EXAMPLES / "two_screws.toml").setup
    pull = replace(pulled(1e-7, load_at=0.03, dial_at=0.03), direction="up")
    assumed = seat_opens(pull, setup)
    told = seat_opens(replace(pull, screw_torque=10.0), setup)
    half = seat_opens(replace(pull, screw_torque=5.0), setup)
    assert assumed is not None
    assert told is not None
    assert half is not None
    assert told.high / told.low < assumed.high / assumed.low
    assert half.likely == pytest.approx(0.5 * told.likely)
    assert seat_opens(replace(pull, direction="sideways"), setup) is None
    assert seat_opens(pull, parse_setup(ROUND).setup) is None


def test_a_place_beyond_the_bar(tmp_path: Path) -> None:
    """One message with the number of the pull and what is allowed."""
    with pytest.raises(InputError, match="pull 2: dial_at"):
        read_pulls([pulled(1e-7), pulled(1e-7, dial_at=0.09)], setup=parse_setup(ROUND).setup)
