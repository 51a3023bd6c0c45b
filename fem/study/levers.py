"""What the beam law adds to a result: spread by assumed numbers, what a change brings, what may differ.

All of it is relative, so that it is true of the solid as well: ratios of the hand formula to itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import TypeVar

import numpy as np

from stickout.fem.beam.hand_check import HandCheck, hand_check
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.setting import bed_spring, hold_of
from stickout.fem.study.band_ends import at_end
from stickout.fem.study.result import Result, hand_mode
from stickout.meshes.parts import Bar, Step
from stickout.meshes.pieces import pieces_of

Sized = TypeVar("Sized", Bar, Step)
_OUTER = ("diameter_mm", "across_flats_mm", "width_mm", "height_mm")


@dataclass(frozen=True)
class Spread:
    """Low and high over likely of the spring and of the note, from the bands of the assumed numbers."""

    spring: tuple[float, float]
    note: tuple[float, float]


@dataclass(frozen=True)
class Lever:
    """A change of the bar and what it brings: ``spring`` and ``note`` are new over old.

    ``note`` is None where the formula does not know the grip, and then ``spring`` counts the change of the
    bar alone: what the seat yields changes too.
    """

    spring: float
    note: float | None


@dataclass(frozen=True)
class HandDifference:
    """Solid over hand formula less 1, for the first bending note and the softest stiffness at the edge.

    ``expected`` is the range of the difference of the note that the theory explains; beyond it one of
    the two deserves a doubt.
    """

    note: float
    stiffness: float
    expected: tuple[float, float]


def spread(result: Result) -> Spread | None:
    """Return how far spring and note may lie from the likely ones, all bands at their soft or stiff end."""
    likely, setup = result.hand, result.setup
    if likely is None or (setup.grip.between_bodies and setup.grip.springs is not None):
        return None  # the band of the joints is the widest of all, and the formula has no joints
    soft, stiff = (_hand(at_end(setup, side)) for side in ("low", "high"))
    k, f = likely.stiffness_n_per_m, likely.frequency_hz
    return Spread(
        spring=(k / stiff.stiffness_n_per_m, k / soft.stiffness_n_per_m),
        note=(soft.frequency_hz / f, stiff.frequency_hz / f),
    )


def shorter(result: Result, step_mm: float) -> Lever | None:
    """Return what less overhang brings; None without a hand formula or where a piece of bar would vanish."""
    bar = result.setup.bar
    if min([bar.overhang_mm, *(one.start_mm for one in bar.steps if one.start_mm > 0)]) <= step_mm:
        return None
    steps = tuple(replace(one, start_mm=one.start_mm - step_mm) for one in bar.steps)
    return _lever(result, replace(bar, overhang_mm=bar.overhang_mm - step_mm, steps=steps))


def thicker(result: Result, step_mm: float) -> Lever | None:
    """Return what a bar thicker all over brings; a bore keeps its size. None without a hand formula."""
    bar = result.setup.bar
    steps = tuple(_grown(one, step_mm) for one in bar.steps)
    return _lever(result, replace(_grown(bar, step_mm), steps=steps))


def hand_difference(result: Result) -> HandDifference | None:
    """Return how the solid departs from the hand formula, and how far it may.

    Returns
    -------
    HandDifference or None
        None where there is no hand formula.

    Source
    ------
    Ranges: computed here, bars of overhang/size 2 to 10 (DEVELOPERS.md); common practice beyond.
    """
    if result.hand is None:
        return None
    return HandDifference(
        note=float(result.frequency_hz[hand_mode(result)]) / result.hand.frequency_hz - 1,
        stiffness=1 / softest_spring(result) / result.hand.stiffness_n_per_m - 1,
        expected=_expected(result.setup),
    )


def softest_spring(result: Result) -> float:
    """Return the deflection per force [m/N] in the direction across the bar that gives most."""
    return float(np.linalg.eigvalsh(result.compliance[1:, 1:])[-1])


def mode_swing(result: Result, mode: int, *, force_n: float) -> float:
    """Return how far a mode carries its most moving point [m] under a steady force at the edge [N].

    ``max|phi| |e phi_edge| F / omega^2``: the mode's part of the static deflection.
    """
    along = abs(float(result.modes.edge[mode] @ result.loading.direction))
    most = float(np.linalg.norm(result.modes.shapes[mode], axis=1).max())
    return most * along * force_n / float(result.omega[mode]) ** 2


def _lever(result: Result, bar: Bar) -> Lever | None:
    """Return the ratios of the hand formula for another bar."""
    old = result.hand
    if old is None:
        return None
    new = _hand(replace(result.setup, bar=bar))
    if result.setup.grip.style in ("rigid", "bed"):
        return Lever(old.stiffness_n_per_m / new.stiffness_n_per_m, new.frequency_hz / old.frequency_hz)
    gain = 1 / old.stiffness_n_per_m - 1 / new.stiffness_n_per_m
    return Lever(1 - gain / softest_spring(result), None)


def _hand(setup: Setup) -> HandCheck:
    """Return the hand formula of a set-up."""
    material = setup.materials["bar"]
    numbers = Elastic(
        youngs_modulus=material.youngs_modulus.likely,
        poisson_ratio=material.poisson_ratio.likely,
        density=material.density.likely,
    )
    pieces = pieces_of(setup.bar, hold_of(setup))
    return hand_check(pieces, numbers, tip_mass=setup.edge.mass_g * 1e-3, spring=bed_spring(setup))


def _grown(part: Sized, step_mm: float) -> Sized:
    """Return a bar or a step with every outer size that is given made larger."""
    names = {one.name for one in fields(part)}.intersection(_OUTER)
    return replace(part, **{n: getattr(part, n) + step_mm for n in names if getattr(part, n) is not None})


def _expected(setup: Setup) -> tuple[float, float]:
    """Return the range of the note's difference that the theory explains."""
    low, high = (sum(ends) for ends in zip(*_explained(setup), strict=True))
    return low, high


def _explained(setup: Setup) -> Iterator[tuple[float, float]]:
    """Yield what each departure of the set-up from the formula may bring, low and high."""
    bar = setup.bar
    size = max(getattr(bar, name) or 0.0 for name in _OUTER)
    stubby = (size / bar.overhang_mm) ** 2
    yield (-0.004 - 0.05 * stubby, 0.006 + 0.08 * stubby)  # beam theory itself, the held face
    if setup.grip.holds_part_of_a_side:
        yield (-min(0.6, 1.2 * size / bar.overhang_mm), 0.0)
    if setup.grip.between_bodies:
        yield (-0.75, 0.0)
    if bar.steps:
        yield (-0.05, 0.0)
    if setup.shim is not None:
        yield (-0.3, 0.0)
    if setup.wrap is not None:
        yield (-0.4, 0.3)
    if setup.edge.mass_g and (setup.edge.offset_y_mm or setup.edge.offset_z_mm or setup.edge.end_distance_mm):
        yield (-0.05, 0.05)
