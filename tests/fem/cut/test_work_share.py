"""Tool against work: shares by arithmetic on two springs; the work's hold goes with the grip."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chatter_references import modes_only
from cutting_cases import CASES

from stickout.fem.beam.work import work_model
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.shares import work_side
from stickout.fem.cut.spread import with_work
from stickout.fem.force.case import cut_case

SETUP = CASES["slender work"]
CASE = cut_case(SETUP)


def one_mode(stiffness: float, hertz: float, *, eta: float = 0.04) -> ModalModel:
    """Return a body that gives along the passive direction only: one mode of known stiffness [N/m]."""
    omega = 2 * np.pi * hertz
    along = CASE.directions.passive * omega / np.sqrt(stiffness)
    return modes_only(np.array([omega]), along[None], eta=np.array([eta]))


def response(stiffness: float, hertz: float, omega: float, *, eta: float = 0.04) -> complex:
    """Return the receptance of a mass on a lossy spring [m/N]: 1/(k (1 - r^2 + i eta))."""
    return 1 / (stiffness * (1 - (omega / (2 * np.pi * hertz)) ** 2 + 1j * eta))


@pytest.mark.parametrize(("tool_hz", "work_hz"), [(900.0, 900.0), (900.0, 2500.0), (2500.0, 900.0)])
def test_the_shares_are_those_of_two_springs(tool_hz: float, work_hz: float) -> None:
    """By hand, also where one of the two moves against the force and the other with it."""
    tool, work = one_mode(2e7, tool_hz), one_mode(5e7, work_hz)
    both = modes_only(
        np.concatenate([tool.omega, work.omega]),
        np.vstack([tool.phi, work.phi]),
        eta=np.concatenate([tool.eta, work.eta]),
    )
    limit = absolute_limit(both, CASE.stiffness)
    found = work_side(CASE, tool, work=work, limit=limit)
    feeds = [
        abs(response(k, hertz, float(limit.omega)).real) for k, hertz in ((2e7, tool_hz), (5e7, work_hz))
    ]
    assert found.dynamic_share == pytest.approx(feeds[0] / sum(feeds), rel=1e-6)
    assert found.static_share == pytest.approx((1 / 2e7) / (1 / 2e7 + 1 / 5e7), rel=1e-9)


def test_a_soft_grip_goes_with_a_soft_hold() -> None:
    """The bad ends come together: the work gives more there than likely, and less at the other."""
    tool = replace(one_mode(2e7, 900.0), viscous=True)
    work = work_model(SETUP, loss=0.05)
    levels = with_work({0.5: tool, 1.0: tool, 2.0: tool}, SETUP, work=work)
    gives = {f: float(np.trace(model.static - tool.static)) for f, model in levels.items()}
    assert gives[0.5] > 1.2 * gives[1.0] > 1.2 * 1.2 * gives[2.0]
    held = replace(SETUP.work, chuck_n_per_um=5.0, chuck_tilt_nm_per_rad=5e3)
    known = replace(SETUP, work=held)  # a hold that was measured is the same at both ends
    levels = with_work({0.5: tool, 2.0: tool}, known, work=work_model(known, loss=0.05))
    assert np.trace(levels[0.5].static) == pytest.approx(np.trace(levels[2.0].static), rel=1e-12)
