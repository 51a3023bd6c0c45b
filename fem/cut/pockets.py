"""Speeds between the lobes: quiet ones that a low note of the part, at few waves a turn, makes real."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.beam.work import work_model
from stickout.fem.chatter.lobes import waves_per_turn
from stickout.fem.chatter.low_speed import cutting_speed
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.models import joined
from stickout.fem.cut.speed_margins import CutSpeeds, margins_at, speed_margins
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# With more waves than this on a turn the speeds between two lobes lie too close to be met.
MOST_WAVES: Final = 10.0
_SPEEDS: Final = 60
_BEYOND: Final = 1.25  # times the fastest of the user's speeds


@dataclass(frozen=True)
class Pocket:
    """Spindle speeds [rpm] between which the likely margin is above one, and the best margin there [-]."""

    low: float
    high: float
    margin: float


@dataclass(frozen=True)
class Pockets:
    """What lies between the lobes.

    Attributes
    ----------
    slowest, fastest
        Where was looked [rpm].
    quiet
        The pockets that are quiet at the likely numbers; none where no speed there is.
    best_rpm, best_margin
        The best speed, quiet or not, and its margin [-].
    shift
        By what the speeds of a pocket move when what holds the part is at the soft and at the stiff end of
        its band: they go with the note [-].
    """

    slowest: float
    fastest: float
    quiet: tuple[Pocket, ...]
    best_rpm: float
    best_margin: float
    shift: tuple[float, float]


def pockets_of(setup: Setup, case: CutCase, *, tool: ModalModel) -> Pockets | None:
    """Return the speeds between the lobes; None where even the fastest leaves many waves on a turn.

    Parameters
    ----------
    setup
        The set-up.
    case
        Its cut.
    tool
        Modal model of its tool.

    Returns
    -------
    Pockets or None
        None also without a part, without speeds of the user's, and where every speed is quiet as it is.

    Source
    ------
    The delayed equation at each speed, rubbing counted: ``stickout.fem.cut.speed_margins`` (computed here).
    """
    work, wide = work_model(setup, loss=CLAMPED.likely), case.cut.work_diameter_mm
    if work is None or wide is None or not case.cut.speeds_rpm:
        return None
    both = joined(tool, work)
    now = speed_margins(case, both)
    sings = float(now.chatter_hz[now.worst])
    slowest, fastest = 60 * sings / MOST_WAVES, _BEYOND * max(case.cut.speeds_rpm)
    few = float(waves_per_turn(2 * np.pi * sings, max(case.cut.speeds_rpm))) < MOST_WAVES
    if not few or float(now.margin[now.worst]) > 1.0:
        return None
    rpm = np.geomspace(max(slowest, min(case.cut.speeds_rpm)), fastest, _SPEEDS)
    cutting = np.array([cutting_speed(wide * MM, float(one)) for one in rpm])
    margin = margins_at(case, both, speeds=CutSpeeds(tuple(rpm.tolist()), cutting, assumed=False)).margin
    best = int(margin.argmax())
    return Pockets(
        slowest=float(rpm[0]),
        fastest=fastest,
        quiet=tuple(_quiet(rpm, margin)),
        best_rpm=float(rpm[best]),
        best_margin=float(margin[best]),
        shift=_shift(setup, work),
    )


def _quiet(rpm: FloatArray, margin: FloatArray) -> Sequence[Pocket]:
    """Return the runs of speeds whose margin is above one, two speeds at least."""
    above = np.concatenate([[False], margin > 1.0, [False]])
    ends = np.flatnonzero(np.diff(above.astype(np.int64)))
    runs = [(start, stop) for start, stop in zip(ends[::2], ends[1::2], strict=True) if stop > start + 1]
    return [Pocket(float(rpm[a]), float(rpm[b - 1]), float(margin[a:b].max())) for a, b in runs]


def _shift(setup: Setup, work: ModalModel) -> tuple[float, float]:
    """Return the first note of the part, softly and stiffly held, over the likely one."""
    ends = [work_model(setup, loss=CLAMPED.likely, side=side) for side in ("low", "high")]
    low, high = (1.0 if one is None else float(one.omega[0] / work.omega[0]) for one in ends)
    return low, high
