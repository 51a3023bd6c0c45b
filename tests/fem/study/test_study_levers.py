"""Springs, places and bands of a study against matrices written by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from stickout.fem import Bar, HeldGrip, Setup
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.setup.parts import Absorber, Solve
from stickout.fem.solid.modes import static_compliance
from stickout.fem.study.band_ends import note_and_compliance
from stickout.fem.study.levers import softest_compliance
from stickout.fem.study.on_post import absorber_place
from stickout.fem.study.study import levels_of, solve_level


def test_the_softest_way_may_lie_between_the_axes() -> None:
    """Compliance 2 both ways with 1 across: the principal values are 3 and 1, by hand."""
    compliance = np.array([[9.0, 0, 0], [0, 2, 1], [0, 1, 2]])
    assert softest_compliance(SimpleNamespace(compliance=compliance)) == pytest.approx(3.0)


def test_an_absorbers_place_gives_in_proportion_to_the_edge() -> None:
    """Twice the compliance in the limit of fine meshes: everything the absorber feels is twice as soft."""
    setup = Setup(
        bar=Bar(80, section="square", width_mm=12, gripped_mm=40),
        grip=HeldGrip(),
        absorber=Absorber(mass_g=5, frequency_hz=1000, damping_ratio=0.1, position_mm=60),
        solve=Solve(1, 0.02),
    )
    level = solve_level(setup, levels_of(setup).fineness[0])
    static = static_compliance(level.model)
    one, two = (
        absorber_place(setup, level, modes=level.modes, compliance=factor * static) for factor in (1, 2)
    )
    assert one is not None
    assert two is not None
    assert two.static == pytest.approx(2 * one.static)
    assert two.cross == pytest.approx(2 * one.cross)


def test_bands_rise_from_low_to_high() -> None:
    """A grip of a half and of twice the compliance: the spring's low end comes from the stiff one."""

    def model(compliance: float) -> ModalModel:
        omega = np.array([100.0 / np.sqrt(compliance)])
        phi = np.array([[0.0, 0.0, 1.0]])
        return ModalModel(omega=omega, phi=phi, eta=np.array([0.01]), static=compliance * 1e-4 * np.eye(3))

    up = np.array([0.0, 0.0, 1.0])
    note, spring = note_and_compliance(
        model(1.0), ends=(model(2.0), model(1.0), model(0.5)), force=up, note=50.0
    )
    assert (spring.low, spring.likely, spring.high) == pytest.approx((0.5e-4, 1e-4, 2e-4))
    assert (note.low, note.likely, note.high) == pytest.approx((50 / np.sqrt(2), 50, 50 * np.sqrt(2)))
