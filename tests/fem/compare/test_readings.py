"""Where the loss sits: damping as it was against loss by the share of the grip."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from stickout.fem.compare.readings import Readings, readings
from stickout.fem.setup.file import parse_setup
from stickout.fem.study.clamped_loss import mode_loss, seat_loss
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study

BAR = """
units = "mm"
[bar]
section = "round"
diameter = 16
overhang = 80
gripped = 60
material = "steel"
[grip]
style = "bed"
[solve]
modes = 2
accuracy = 0.02
"""
HARDER = "grip.bed_n_per_um_mm2"


@cache
def solved(*changes: str) -> Result:
    """Return the bar with changes."""
    return run_study(parse_setup(BAR, changes=changes).setup)


def springs(result: Result) -> tuple[float, float]:
    """Return the give of the bar alone and of its grip [m/N], from statics."""
    metal = result.setup.bar_material.name
    stiff = run_study(parse_setup(BAR, changes=["grip.style=rigid", f"bar.material={metal}"]).setup)
    alone = float(stiff.compliance[2, 2])
    return alone, float(result.compliance[2, 2]) - alone


def test_clamping_harder_stiffens_and_takes_the_loss_away() -> None:
    """Compliances in series, all loss in the grip: k eta = c_g eta / (c_b + c_g)^2 (recalled, computed here).

    Statics against the energies of the mode: they share the bending a few per cent differently.
    """
    first, faces = solved(), solved().setup.grip.faces
    assert faces is not None
    harder = solved(f"{HARDER}={2 * faces.normal_n_per_um_mm2.likely}")
    # A stiffness that the user gives is no measured loss: both readings still stand.
    ratio = first.compliance[2, 2] / harder.compliance[2, 2]
    found = readings(harder, first, ratio=float(ratio))
    assert found is not None
    products = [grip / (bar + grip) ** 2 for bar, grip in (springs(first), springs(harder))]
    assert found.by_share == pytest.approx(products[1] / products[0], rel=0.06)
    assert found.by_share < found.same_damping
    assert found.depends


def test_both_readings_are_one_where_nothing_shifts() -> None:
    """The same bar again: no share has changed, and the damping that is taken is that of the first."""
    first = solved()
    found = readings(first, first, ratio=1.0)
    assert found is not None
    assert (found.same_damping, found.by_share) == pytest.approx((1.0, 1.0))
    assert not found.depends
    likely = float(mode_loss(first.setup, first.shares)[first.aligned])
    assert likely > seat_loss(first.setup).likely


def test_a_grip_without_faces_or_a_measured_loss_has_one_reading() -> None:
    """Nothing can shift where no face is modelled; a measured loss is what it is."""
    rigid = solved("grip.style=rigid")
    assert readings(rigid, rigid, ratio=1.2) is None
    measured = solved("grip.bed_loss_factor=0.06")
    assert readings(measured, solved(), ratio=1.2) is None


@pytest.mark.parametrize(("by_share", "depends"), [(1.09, False), (1.11, True), (0.91, False), (0.89, True)])
def test_a_tenth_apart_is_no_one_answer(by_share: float, depends: bool) -> None:
    """More than a tenth."""
    assert Readings(1.0, by_share).depends is depends
    assert np.isclose(Readings(2.0, 2 * by_share).by_share, 2 * by_share)
