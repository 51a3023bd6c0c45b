"""A bar held at both ends, cutter between: closed forms, statics, and the limit that the springs tend to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stickout.fem.beam.centres import end_band
from stickout.fem.beam.hand_bar import hand_compliance, hand_note
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.size.job import Bore, Holder, SizeJob
from stickout.fem.size.options import options
from stickout.fem.study.study import run_study
from stickout.meshes.parts import Bar, Edge

LENGTH, SIZE, STIFF = 0.48, 0.016, 1e6
SECOND, AREA = np.pi / 64 * SIZE**4, np.pi / 4 * SIZE**2
# Roots of the two ends and the middle's stiffness over EI/L^3 (Blevins, Roark; recalled, not opened).
PERFECT = {"between centres": (np.pi, 48.0), "chuck and centre": (3.926602, 768 / 7)}


def bar_of(held: str = "between centres", *, back: float = 240.0, **springs: float) -> Setup:
    """Return a slender bar held at both ends."""
    grip = CentresGrip(held=held, **springs)
    return Setup(
        bar=Bar(overhang_mm=LENGTH * 1e3, diameter_mm=SIZE * 1e3),
        grip=grip,
        edge=Edge(end_distance_mm=back),
        materials={"bar": STEEL},
        solve=Solve(modes=4, accuracy=0.005),
    )


def perfect_springs(held: str) -> dict[str, float]:
    """Return springs that give next to nothing."""
    tilt = {} if held == "between centres" else {"chuck_tilt_nm_per_rad": 1e12}
    return {"chuck_n_per_um": STIFF, "centre_n_per_um": STIFF, **tilt}


@pytest.mark.parametrize("held", PERFECT)
def test_stiff_springs_give_the_closed_form(held: str) -> None:
    """Pinned at both ends, or one of them built in: Euler's note and spring, less what shear takes."""
    result = run_study(bar_of(held, **perfect_springs(held)))
    root, times = PERFECT[held]
    young, density = STEEL.youngs_modulus.likely, STEEL.density.likely
    note = (root / LENGTH) ** 2 * np.sqrt(young * SECOND / (density * AREA)) / (2 * np.pi)
    assert result.frequency_hz[0] == pytest.approx(note, rel=0.006)
    assert result.frequency_hz[0] < note
    assert 1 / result.compliance[2, 2] == pytest.approx(times * young * SECOND / LENGTH**3, rel=0.012)
    assert result.kinds[0] == "bending"


@pytest.mark.parametrize("held", PERFECT)
def test_solid_and_beam_agree_on_soft_springs(held: str) -> None:
    """The usual springs; the beam is another code, and the cutter stands off the middle."""
    setup = bar_of(held, back=160.0)
    result = run_study(setup)
    assert result.frequency_hz[0] == pytest.approx(hand_note(setup), rel=0.004)
    assert np.diag(result.compliance) == pytest.approx(np.diag(hand_compliance(setup)), rel=0.006)


def test_springs_alone_carry_a_bar_that_does_not_bend() -> None:
    """Two unlike springs under a stiff stub: 1/k at the cutter by levers (statics, computed here)."""
    setup = replace(
        bar_of(back=15.0, chuck_n_per_um=2.0, centre_n_per_um=1.0),
        bar=Bar(overhang_mm=60, diameter_mm=40),
    )
    head = 0.25**2 / 2e6 + 0.75**2 / 1e6
    assert run_study(setup).compliance[2, 2] == pytest.approx(head, rel=0.01)


def test_a_cutter_off_the_axis_twists_the_bar() -> None:
    """Twist from the headstock's drive to the cutter: ``r^2 x / GJ`` (Saint-Venant; recalled, not opened)."""
    plain, set_off = (
        run_study(replace(bar_of(), edge=Edge(end_distance_mm=240, offset_y_mm=offset))).compliance[2, 2]
        for offset in (0.0, 20.0)
    )
    shear = STEEL.youngs_modulus.likely / (2 * (1 + STEEL.poisson_ratio.likely))
    assert set_off - plain == pytest.approx(0.02**2 * LENGTH / 2 / (shear * 2 * SECOND), rel=0.01)


def test_measured_ends_leave_no_assumption_and_a_narrow_band() -> None:
    """What a pull found stands alone; what nobody measured is listed with its band."""
    assert end_band(bar_of(chuck_n_per_um=20, centre_n_per_um=10)) is None
    low, high = end_band(bar_of()) or (1.0, 1.0)
    assert low < 0.7 < 1.5 < high
    names = {one.name for one in run_study(bar_of()).assumptions}
    assert {"headstock centre", "spindle nose", "live centre", "tailstock quill"} <= names


def test_size_puts_the_cutter_in_the_middle_of_twice_the_depth() -> None:
    """The part must pass the cutter from one side to the other."""
    job = SizeJob(Bore(40, 120), holder=Holder(style="centres"))
    for one in options(job):
        assert one.setup.grip.at_both_ends
        assert one.setup.edge.end_distance_mm == pytest.approx(one.setup.bar.overhang_mm / 2)
        assert one.setup.bar.overhang_mm > 240
