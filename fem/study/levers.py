"""What is added to a result: spread by assumed numbers, what a change brings, how the hand formula differs.

Spread: ratios of the hand formula to itself, true of the solid as well. Changes: solved anew on one mesh.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.hand_check import HandCheck, hand_check
from stickout.fem.setup.changes import OUTER
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.setting import bed_springs, hold_of
from stickout.fem.study.accuracy import Level
from stickout.fem.study.band_ends import at_end
from stickout.fem.study.coarse import coarse_level
from stickout.fem.study.directions import static_share
from stickout.fem.study.hand import hand_of
from stickout.fem.study.on_post import carrier_of
from stickout.fem.study.result import Result, hand_mode
from stickout.meshes.pieces import pieces_of
from stickout.meshes.tagged import FloatArray

FEW_MODES: Final = 2
# Of the mesh's length: how near a node lies to the holder's face to count as its foot.
_FOOT: Final = 1e-6
# Share of the spring, over the greatest, from which a mode may be the one that was there before.
_CARRIES: Final = 0.3


@dataclass(frozen=True)
class EndRatios:
    """Low and high over likely of the spring and of the note, from the bands of the assumed numbers."""

    compliance_along: tuple[float, float]
    note: tuple[float, float]


@dataclass(frozen=True)
class Lever:
    """A changed set-up, and compliance along the force and note: new over old, both solved alike."""

    setup: Setup
    compliance_along: float
    note: float


@dataclass(frozen=True)
class HandDifference:
    """Solid over hand formula less 1, for the first bending note and the softest stiffness at the edge.

    ``expected`` is the range of the difference of the note that the theory explains; beyond it one of
    the two deserves a doubt.
    """

    note: float
    stiffness: float
    expected: tuple[float, float]


def spread(result: Result) -> EndRatios | None:
    """Return how far spring and note may lie from the likely ones, all bands at their soft or stiff end."""
    likely, setup = result.hand, result.setup
    if carrier_of(setup) is not None:  # the formula knows no post: three coarse solves
        spring, note, lead = _coarse(setup, result)
        ends = [_coarse(at_end(setup, side), result, like=lead) for side in ("high", "low")]
        springs, notes = [one[0] for one in ends], [one[1] for one in ends]
        return EndRatios(
            compliance_along=(springs[0] / spring, springs[1] / spring),
            note=(notes[1] / note, notes[0] / note),
        )
    if likely is None or (setup.grip.between_bodies and setup.grip.springs is not None):
        return None  # the band of the joints is the widest of all, and the formula has no joints
    soft, stiff = (_hand(at_end(setup, side)) for side in ("low", "high"))
    k, f = likely.stiffness_n_per_m, likely.frequency_hz
    return EndRatios(
        compliance_along=(k / stiff.stiffness_n_per_m, k / soft.stiffness_n_per_m),
        note=(soft.frequency_hz / f, stiff.frequency_hz / f),
    )


def rerun(result: Result, changed: Sequence[Setup]) -> list[Lever]:
    """Return what changes of the set-up bring: each solved anew on one coarse mesh, as the old one is.

    Parameters
    ----------
    result
        The study of the set-up as it is.
    changed
        Set-ups with one thing changed; taken as checked.

    Returns
    -------
    list of Lever
        One a change, in order; nothing is solved where there are none.

    Notes
    -----
    Ratios on this mesh are within 1 % of those of whole studies (tests/fem/study/test_levers.py).
    """
    if not changed:
        return []
    spring, note, lead = _coarse(result.setup, result)
    new = [_coarse(one, result, like=lead) for one in changed]
    return [Lever(s, k / spring, f / note) for s, (k, f, _) in zip(changed, new, strict=True)]


def _coarse(
    setup: Setup, result: Result, *, like: FloatArray | None = None
) -> tuple[float, float, FloatArray | None]:
    """Return spring along the force [m/N], and note [Hz] and motion of the mode that carries most of it.

    On a post two modes may carry nearly as much, and trade places when the bar changes: there ``like`` is the
    motion of the mode before, and the note is that of the mode most alike of those that carry much.
    """
    few = replace(setup, solve=replace(setup.solve, modes=FEW_MODES))
    level, push = coarse_level(few), result.loading.direction
    score = static_share(level.modes, level.compliance, force=push)
    motion = None if carrier_of(setup) is None else _motions(level)
    if like is not None and motion is not None:
        score = np.where(score > _CARRIES * score.max(), (motion @ like) ** 2, 0.0)
    lead = int(np.argmax(score))
    spring, note = float(push @ level.compliance @ push), float(level.modes.frequency_hz[lead])
    return spring, note, None if motion is None else motion[lead]


def _motions(level: Level) -> FloatArray:
    """Return how each mode moves the edge and the foot of the bar at the holder, as unit vectors, (n, 6).

    The scalar product of two, squared, is their modal assurance over these two places.
    """
    x = level.model.mesh.points[:, 0]
    foot = np.flatnonzero(np.abs(x) <= np.abs(x).min() + _FOOT * np.ptp(x))
    both = np.concatenate([level.modes.edge, level.modes.shapes[:, foot].mean(axis=1)], axis=1)
    return np.asarray(both / np.maximum(np.linalg.norm(both, axis=1, keepdims=True), np.finfo(float).tiny))


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
        stiffness=1 / softest_compliance(result) / result.hand.stiffness_n_per_m - 1,
        expected=_expected(result.setup),
    )


def softest_compliance(result: Result) -> float:
    """Return the deflection per force [m/N] in the direction across the bar that gives most."""
    return float(np.linalg.eigvalsh(result.compliance[1:, 1:])[-1])


def mode_swing(result: Result, mode: int, *, force_n: float) -> float:
    """Return how far a mode carries its most moving point [m] under a steady force at the edge [N].

    ``max|phi| |e phi_edge| F / omega^2``: the mode's part of the static deflection.
    """
    along = abs(float(result.modes.edge[mode] @ result.loading.direction))
    return float(result.modes.most[mode]) * along * force_n / float(result.omega[mode]) ** 2


def _hand(setup: Setup) -> HandCheck:
    """Return the hand formula of a set-up."""
    if setup.grip.at_both_ends:
        return hand_of(setup)
    material = setup.materials["bar"]
    numbers = Elastic(
        youngs_modulus=material.youngs_modulus.likely,
        poisson_ratio=material.poisson_ratio.likely,
        density=material.density.likely,
    )
    pieces = pieces_of(setup.bar, hold_of(setup))
    return hand_check(pieces, numbers, tip_mass=setup.edge.mass_g * 1e-3, spring=bed_springs(setup))


def _expected(setup: Setup) -> tuple[float, float]:
    """Return the range of the note's difference that the theory explains."""
    low, high = (sum(ends) for ends in zip(*_explained(setup), strict=True))
    return low, high


def _explained(setup: Setup) -> Iterator[tuple[float, float]]:
    """Yield what each departure of the set-up from the formula may bring, low and high."""
    bar = setup.bar
    size = max(getattr(bar, name) or 0.0 for name in OUTER)
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
