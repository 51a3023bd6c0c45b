"""Which losses count: what the user gave, or the metal and what clamping is assumed to take."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stickout.fem import Bar, BedGrip, Joint, Setup, exactly, material
from stickout.fem.study.clamped_loss import mode_loss

# One mode, its energy three to one in bar and bed.
SHARES = {"bar": np.array([3.0]), "bed": np.array([1.0])}


def setup(*, bar: float | None = None, bed: float | None = None) -> Setup:
    """Return a bar on a bed; losses that are given count as the user's."""
    steel = material("steel")
    own = steel if bar is None else replace(steel, loss_factor=exactly(bar))
    faces = Joint() if bed is None else Joint(loss_factor=exactly(bed))
    grip = BedGrip(bed=faces)
    return Setup(bar=Bar(80, diameter_mm=16, gripped_mm=60), grip=grip, materials={"bar": own})


def test_both_losses_given_are_shared_by_energy() -> None:
    """Three quarters of 0.02 and one of 0.1: Johnson & Kienholz's sum, by hand."""
    assert mode_loss(setup(bar=0.02, bed=0.1), SHARES)[0] == pytest.approx(0.75 * 0.02 + 0.25 * 0.1)


@pytest.mark.parametrize("given", [{"bar": 0.02}, {"bed": 0.1}])
def test_one_loss_that_was_measured_is_enough_to_take_none_for_granted(given: dict[str, float]) -> None:
    """Whoever tapped the tool has the clamping in the number: a second one would count it twice."""
    one = setup(**given)
    bar, bed = one.materials["bar"].loss_factor.likely, one.grip.bed.loss_factor.likely
    assert mode_loss(one, SHARES)[0] == pytest.approx(0.75 * bar + 0.25 * bed)


def test_nothing_given_loses_more_than_metal_and_seat_alone() -> None:
    """Clamped tools lose far more than their metal; the same at every end of the band."""
    one = setup()
    ends = [float(mode_loss(one, SHARES, side=side)[0]) for side in ("low", "likely", "high")]
    assert ends == sorted(ends)
    assert ends[1] > 10 * one.materials["bar"].loss_factor.likely
