"""The loss that a cut can count on: that of the modelled parts, and that of clamping no model foresees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fem.errors import InputError
from fem.materials import USER_SOURCE, Band
from fem.result import Loss, Result
from fem.setup import BedGrip, Joint, Setup, SleeveGrip, SlotGrip
from meshes.tagged import FloatArray

# Damping ratio 0.005 to 0.03 of clamped bars [j.zeta.bar]; the likely one is the middle of their logarithms.
CLAMPED: Final = Band(
    0.01, 0.025, 0.06, "clamped bars measure damping ratios of 0.5 to 3 %; common practice, no source"
)


@dataclass(frozen=True)
class ClampedLoss:
    """Loss factors of a held tool.

    Attributes
    ----------
    loss
        Low, likely and high of each mode.
    added
        Loss factor added to every mode for the clamping that is not modelled [-].
    least
        Least likely loss factor of a mode [-].
    how
        ``added``: the grip has no touching faces, so the usual loss of clamped bars was added;
        ``raised``: the faces' loss was assumed, so the likely value is at least the least that clamped
        bars measure, and the high end at least their highest; ``given``: the user gave it.
    """

    loss: Loss
    added: float
    least: float
    how: str

    def likely(self, modelled: FloatArray) -> FloatArray:
        """Return the likely loss factors of modes [-] whose modelled parts have these."""
        return np.maximum(modelled + self.added, self.least)


def clamped_loss(result: Result) -> ClampedLoss:
    """Return the loss of each mode of a result as a cut sees it.

    Raises
    ------
    InputError
        A mode has no loss at all.

    Source
    ------
    Band of clamped bars: common practice, no source [j.zeta.bar].
    """
    loss, joint = result.loss, modelled_joint(result.setup)
    if given_by_user(result.setup):
        _require_loss(loss)
        return ClampedLoss(loss, 0.0, 0.0, "given")
    if joint is None:
        low, likely, high = (
            getattr(loss, side) + getattr(CLAMPED, side) for side in ("low", "likely", "high")
        )
        return ClampedLoss(Loss(low, likely, high), CLAMPED.likely, 0.0, "added")
    likely, high = np.maximum(loss.likely, CLAMPED.low), np.maximum(loss.high, CLAMPED.high)
    return ClampedLoss(Loss(loss.low, likely, high), 0.0, CLAMPED.low, "raised")


def modelled_joint(setup: Setup) -> Joint | None:
    """Return the touching faces of the grip; None where there are none, or where they are bonded."""
    match setup.grip:
        case BedGrip(bed=faces):
            return faces
        case SlotGrip(joint=faces) | SleeveGrip(joint=faces):
            return None if faces.bonded else faces
    return None


def given_by_user(setup: Setup) -> bool:
    """Return whether the user gave the loss of the bar or of its grip: then it counts as measured."""
    joint = modelled_joint(setup)
    bands = [setup.materials["bar"].loss_factor, *([] if joint is None else [joint.loss_factor])]
    return any(band.source == USER_SOURCE for band in bands)


def _require_loss(loss: Loss) -> None:
    """Refuse modes without loss: no cut on them is quiet, and no limit exists."""
    if not np.all(loss.likely > 0):
        raise InputError(
            key="loss_factor",
            given=0.0,
            allowed="above 0 for a cut",
            mend="Give the bar's material twice the damping ratio of the clamped bar, or leave it out.",
        )
