"""The likely margin at each speed of a cut, the rubbing of the flank in it: one function for all commands."""

from __future__ import annotations

from dataclasses import dataclass, replace
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
    """Likely margin [-] and chatter frequency [Hz] at each speed, (n,); of a batch of models (..., n)."""

    speeds: CutSpeeds
    margin: FloatArray
    chatter_hz: FloatArray

    @property
    def worst(self) -> int:
        """Return the index of the speed with the least margin of one model."""
        return int(np.argmin(self.margin))

    @property
    def least(self) -> FloatArray:
        """Return the margin at the worst of the speeds, shape (...)."""
        return np.asarray(self.margin.min(axis=-1))


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


def speed_margins(
    case: CutCase,
    model: ModalModel,
    *,
    force: FloatArray | float = 1.0,
    rubbing: FloatArray | float = 1.0,
) -> SpeedMargins:
    """Return the likely margin at each speed of a cut: every command's margin is this one.

    Parameters
    ----------
    case
        The cut.
    model
        Modal model of tool and work, absorber included; one or a batch of shape (...).
    force, rubbing
        Factors of the force, and of the wave that the flank holds down, for each of a batch [-], shape (...).

    Returns
    -------
    SpeedMargins
        With the phase of the wave that fits the speed where fewer than twenty waves fit on a turn, else with
        the worst phase.

    Source
    ------
    ``det(I + i w G C + s (1 - exp(-i w tau)) G A) = 0``, see ``stickout.fem.chatter.loop`` (computed here).
    """
    # The margin of (u A, y C) is that of (A, y C) over u.
    pressed = np.asarray(force * np.asarray(rubbing))[..., None, None] * flank_of(case)
    found = _margins(model, case.stiffness, flank=pressed, speeds=cut_speeds(case.cut))
    return replace(found, margin=found.margin / np.asarray(force)[..., None])


def margins_at(case: CutCase, model: ModalModel, *, speeds: CutSpeeds) -> SpeedMargins:
    """Return the likely margin of a cut at other speeds than its own.

    Parameters
    ----------
    case, model
        As for ``speed_margins``, which also names the source.
    speeds
        The speeds.
    """
    return _margins(model, case.stiffness, flank=flank_of(case), speeds=speeds)


def _margins(model: ModalModel, matrix: FloatArray, *, flank: FloatArray, speeds: CutSpeeds) -> SpeedMargins:
    """Return the margins of one model or a batch; ``flank`` is the matrix times the cutting speed [N]."""
    found = absolute_limit(
        _before_speeds(model), matrix, flank=flank[..., None, :, :] / speeds.cutting[:, None, None]
    )
    margin, omega = np.array(found.margin), np.array(found.omega)
    for at, rpm in enumerate(speeds.rpm):
        few = np.asarray(False if rpm is None else waves_per_turn(omega[..., at], rpm) < FEW_WAVES)
        if rpm is None or not np.any(few):
            continue
        real = limits_at_speeds(model, matrix, speeds_rpm=[rpm], flank=flank / speeds.cutting[at])
        fits = few & np.isfinite(real.margin[..., 0])
        margin[..., at] = np.where(fits, np.maximum(real.margin[..., 0], margin[..., at]), margin[..., at])
        omega[..., at] = np.where(fits, real.omega[..., 0], omega[..., at])
    return SpeedMargins(speeds, margin, omega / (2 * np.pi))


def _before_speeds(model: ModalModel) -> ModalModel:
    """Return a batch of models with room for an axis of speeds behind its own; one model as it is."""

    def roomy(values: FloatArray, inner: int) -> FloatArray:
        return np.expand_dims(values, values.ndim - inner) if values.ndim > inner else values

    hung = model.attached
    if hung is not None:
        hung = replace(
            hung,
            phi=roomy(hung.phi, 2),
            cross=roomy(hung.cross, 2),
            static=roomy(hung.static, 2),
            mass=roomy(hung.mass, 0),
            omega=roomy(hung.omega, 0),
            zeta=roomy(hung.zeta, 0),
        )
    return replace(
        model,
        omega=roomy(model.omega, 1),
        phi=roomy(model.phi, 2),
        eta=roomy(model.eta, 1),
        static=roomy(model.static, 2),
        attached=hung,
    )
