"""The likely margin at each speed of a cut, the rubbing of the flank in it: one function for all commands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.lobes import waves_per_turn
from stickout.fem.chatter.low_speed import cutting_speed
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.flank import flank_of
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Cut
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

USUAL_SPEEDS: Final = (25 / 60, 50 / 60, 100 / 60)
# With more waves on a turn than this the lobes are too dense to be met or missed: the worst phase counts.
FEW_WAVES: Final = 20.0


@dataclass(frozen=True)
class CutSpeeds:
    """Speeds of a cut: spindle [rpm] (None where the work's diameter is unknown), cutting [m/s], shape (n,).

    ``assumed`` says that the user gave none, or none that can be turned into a cutting speed.
    """

    rpm: tuple[float | None, ...]
    cutting: FloatArray
    assumed: bool


@dataclass(frozen=True)
class SpeedMargins:
    """Likely margin [-] and chatter frequency [Hz] at each speed, shape (n,)."""

    speeds: CutSpeeds
    margin: FloatArray
    chatter_hz: FloatArray

    @property
    def worst(self) -> int:
        """Return the index of the speed with the least margin."""
        return int(np.argmin(self.margin))


def cut_speeds(cut: Cut) -> CutSpeeds:
    """Return the speeds that a cut is judged at: the user's, else 25, 50 and 100 m/min."""
    diameter = cut.work_diameter_mm
    if cut.speeds_rpm and diameter is not None:
        cutting = [cutting_speed(diameter * MM, one) for one in cut.speeds_rpm]
        return CutSpeeds(tuple(cut.speeds_rpm), np.array(cutting), assumed=False)
    if diameter is None:
        return CutSpeeds((None, None, None), np.array(USUAL_SPEEDS), assumed=True)
    rpm = tuple(60 * one / (np.pi * diameter * MM) for one in USUAL_SPEEDS)
    return CutSpeeds(rpm, np.array(USUAL_SPEEDS), assumed=True)


def speed_margins(case: CutCase, model: ModalModel) -> SpeedMargins:
    """Return the likely margin at each speed of a cut.

    Parameters
    ----------
    case
        The cut.
    model
        Modal model of tool and work, absorber included.

    Returns
    -------
    SpeedMargins
        With the phase of the wave that fits the speed where fewer than twenty waves fit on a turn, else with
        the worst phase.

    Source
    ------
    ``det(I + i w G C + s (1 - exp(-i w tau)) G A) = 0``, see ``stickout.fem.chatter.loop`` (computed here).
    """
    return margins_at(case, model, speeds=cut_speeds(case.cut))


def margins_at(case: CutCase, model: ModalModel, *, speeds: CutSpeeds) -> SpeedMargins:
    """Return the likely margin of a cut at other speeds than its own.

    Parameters
    ----------
    case, model
        As for ``speed_margins``, which also names the source.
    speeds
        The speeds.
    """
    matrix, flank = case.stiffness, flank_of(case)
    found = absolute_limit(model, matrix, flank=flank / speeds.cutting[:, None, None])
    margin, omega = np.array(found.margin), np.array(found.omega)
    for at, rpm in enumerate(speeds.rpm):
        if rpm is not None and waves_per_turn(omega[at], rpm) < FEW_WAVES:
            real = limits_at_speeds(model, matrix, speeds_rpm=[rpm], flank=flank / speeds.cutting[at])
            if np.isfinite(real.margin[0]):
                margin[at], omega[at] = max(real.margin[0], margin[at]), real.omega[0]
    return SpeedMargins(speeds, margin, omega / (2 * np.pi))
