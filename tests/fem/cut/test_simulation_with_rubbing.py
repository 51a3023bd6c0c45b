"""The margin at each speed, rubbing and friction of the flank in it, against time steps of the equation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from chatter_references import modes_only
from cutting_cases import ROUND, TURN
from rubbed import FloatArray, Swinging, of_modes

from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.absorber import attached_by_modes
from stickout.fem.cut.flank import flank_of
from stickout.fem.cut.models import joined
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.force.case import CutCase, case_of
from stickout.fem.setup.parts import Absorber, Cut

BORE = replace(ROUND.cut or Cut(), speeds_rpm=(250.0, 900.0))
"""At 24 mm: 19 and 68 m/min."""
HUNG = Absorber(position_mm=80, mass_g=8, frequency_hz=1010.0, damping_ratio=0.15, direction="sideways")
WAVES = 6

Built = tuple[CutCase, ModalModel, Swinging]


def modes(hertz: list[float], edge: list[list[float]], zeta: float) -> tuple[ModalModel, Swinging]:
    """Return modes as the product takes them, and as matrices."""
    frequency, phi = np.array(hertz), np.array(edge)
    ratio = np.full(len(frequency), zeta)
    model = modes_only(2 * np.pi * frequency, phi, eta=2 * ratio, viscous=True)
    return model, of_modes(frequency, phi, zeta=ratio)


def one_mode() -> Built:
    """Return a bar that can move only from the wall."""
    return case_of(BORE), *modes([1270.0], [[0.0, 5.0, 0.0]], 0.02)


def leaning_modes() -> Built:
    """Return two modes that lean 30 degrees: driven along the cut, where the flank hardly rubs."""
    lean = np.radians(30.0)
    pair = [[0.0, 5 * np.cos(lean), 5 * np.sin(lean)], [0.0, -5 * np.sin(lean), 5 * np.cos(lean)]]
    return case_of(BORE), *modes([1050.0, 1190.0], pair, 0.013)


def nose() -> Built:
    """Return three modes that lean every way under a nose: all nine entries of the matrices count."""
    edge = [[0.8, 4.6, 1.9], [-0.5, -2.0, 4.4], [3.0, 0.9, -1.2]]
    return case_of(replace(BORE, depth_mm=0.5, feed_mm=0.1)), *modes([1100.0, 1240.0, 2600.0], edge, 0.02)


def with_work() -> Built:
    """Return a short tool against slender work, softer than the tool."""
    case = case_of(replace(TURN, work_diameter_mm=12.0, speeds_rpm=(400.0, 1200.0)))
    tool, ours = modes([2600.0, 2900.0], [[1.5, 2.6, 0.4], [0.3, -0.2, 3.1]], 0.02)
    work, theirs = modes([700.0, 700.0], [[2.9, 0.0, 0.0], [0.0, 0.0, 2.9]], 0.01)
    return case, joined(tool, work), ours.beside(theirs)


def with_absorber() -> Built:
    """Return a small mass on rubber at the end of a leaning bar."""
    case, model, bar = leaning_modes()
    hung = attached_by_modes(HUNG, model.omega, edge=model.phi, place=model.phi)
    moved = bar.hung(
        bar.edge[:, 1], mass=1e-3 * HUNG.mass_g, hertz=HUNG.frequency_hz, zeta=HUNG.damping_ratio
    )
    return case, replace(model, attached=hung), moved


@pytest.mark.parametrize("build", [one_mode, leaning_modes, nose, with_work, with_absorber])
def test_time_steps_bracket_the_margin_at_each_speed(build: Callable[[], Built]) -> None:
    """Runge-Kutta steps of the delayed equation: quiet 2 % below the margin, growing 2 % above it.

    The turn is cut short to a few waves at the phase that is worst: only the phase of the old wave counts.
    """
    case, model, moved = build()
    found = speed_margins(case, model)
    dry = speed_margins(replace(case, cut=replace(case.cut, edge_land_mm=1e-6)), model)
    flank: FloatArray = flank_of(case)
    for at, speed in enumerate(found.speeds.cutting):
        rubbing, omega = flank / speed, 2 * np.pi * found.chatter_hz[at]
        phase = moved.worst_phase(case.stiffness, rubbing, omega=omega)
        trials = found.margin[at] * np.array([0.98, 1.02])[:, None, None] * case.stiffness
        turn = (phase + 2 * np.pi * WAVES) / omega
        growth = moved.growth(trials, rubbing, delay=turn)
        assert growth[0] < 0.0 < growth[1], (speed, growth)
        # The rubbing is in it: without, the margin lies outside these two per cent.
        assert abs(dry.margin[at] / found.margin[at] - 1.0) > 0.02
