"""A cut that motor or bar cannot take, told before any answer on it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from stickout.fem.force.directions import cut_directions, force_on_tool
from stickout.fem.force.loading import FORCE_MODEL, cutting_force, loading
from stickout.fem.force.spring_off import spring_off
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.units import MM, small_length_text
from stickout.meshes.tagged import FloatArray

# What the motor of a small lathe gives, and one of a medium lathe [W]: common practice, no source.
SMALL_MOTOR: Final = 1500.0
MEDIUM_MOTOR: Final = 4000.0


def cut_warnings(setup: Setup, compliance: FloatArray) -> Iterator[str]:
    """Yield the warnings of a cut too deep for the bar, and of one too heavy for a motor.

    Parameters
    ----------
    setup
        The set-up; nothing is said where its cut is not described far enough for a force.
    compliance
        Static compliance at the edge [m/N], shape (3, 3).

    Source
    ------
    Power is force times speed (computed here); motors: common practice, no source.
    """
    cut = setup.cut
    if cut is None or cut.depth_mm is None:
        return
    force, how = cutting_force(cut)
    if how != FORCE_MODEL:
        return
    directions = cut_directions(cut.operation or "", cut.side, rear_tool=cut.rear_tool)
    push = loading(cut).direction * np.linalg.norm(force_on_tool(directions, force))
    back, depth = spring_off(compliance, push, passive=directions.passive), cut.depth_mm * MM
    if cut.operation != "parting" and back > depth:
        yield (
            f"The cut pushes the edge back {small_length_text(back, setup.units)}, more than its depth of "
            f"{small_length_text(depth, setup.units)}: this bar cannot take it. It rides up, then digs in."
        )
    yield from _power(cut, force.c)


def _power(cut: Cut, force: float) -> Iterator[str]:
    """Yield the warning of a cut that wants more power than small and medium lathes have."""
    if not cut.speeds_rpm or cut.work_diameter_mm is None:
        return
    fastest = max(cut.speeds_rpm)
    power = force * math.pi * cut.work_diameter_mm * MM * fastest / 60
    if power > MEDIUM_MOTOR:
        yield (
            f"At {fastest:.0f} rpm this cut takes {power / 1e3:.2g} kW: a small lathe's motor gives about "
            f"{SMALL_MOTOR / 1e3:.2g}, a medium one's {MEDIUM_MOTOR / 1e3:.2g}."
        )
