"""The loss that a cut can count on: that of the metal by energy shares, and that of the clamping.

Energy shares with assumed faces come out far below what clamped bars measure: micro-slip, slides and post
are not in them. So, unless the user gave a loss, the measured band of clamped bars stands for the clamping.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.setup.bands import MEASURED, USER_SOURCE, Band
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.solid.setting import loss_factors
from stickout.fem.study.damping import energy_shares, modal_loss_factors
from stickout.fem.study.result import Loss, Result
from stickout.meshes.tagged import FloatArray

# Damping ratio 0.010 to 0.035 of bars under screws or in split sleeves, as the loss of the mode: what rubs in
# post and slides is not in the mesh, and the rules of 4 and 6 diameters come out with the likely one.
CLAMPED: Final = Band(
    0.02,
    0.04,
    0.07,
    "common practice, no source: damping ratio 1 to 3.5 %, by the rules of 4 and 6 diameters (computed here)",
)
# A seat that is one piece with its holder: glued, shrunk or soldered in.
BONDED: Final = Band(
    0.01, 0.02, 0.04, "common practice, no source: damping ratio 0.5 to 2 % of a glued or shrunk seat"
)


def seat_loss(setup: Setup) -> Band:
    """Return the loss factor of the clamping of a set-up: of screws and sleeves, or of a bonded seat.

    Source
    ------
    Common practice, no source; the only place that says it.
    """
    return BONDED if setup.grip.one_piece else CLAMPED


@dataclass(frozen=True)
class ClampedLoss:
    """Loss factors of a held tool.

    Attributes
    ----------
    loss
        Low, likely and high of each mode of the result.
    given
        Whether the user gave the loss of bar or grip, so that nothing was put in its place.
    """

    loss: Loss
    given: bool


def clamped_loss(result: Result) -> ClampedLoss:
    """Return the loss of each mode of a result as a cut sees it.

    Raises
    ------
    InputError
        A mode has no loss at all.

    Source
    ------
    ``seat_loss``.
    """
    return clamped_loss_of(result.setup, result.shares)


def clamped_loss_of(setup: Setup, shares: Mapping[str, FloatArray]) -> ClampedLoss:
    """Return the loss of modes whose energy is shared so, as a cut sees it; raises as ``clamped_loss``."""
    low, likely, high = (mode_loss(setup, shares, side=side) for side in ("low", "likely", "high"))
    if not np.all(likely > 0):
        raise InputError(
            key="loss_factor",
            given=0.0,
            allowed="above 0 for a cut",
            mend="Give twice the damping ratio of the clamped bar as its material's loss_factor.",
        )
    return ClampedLoss(Loss(low, likely, high), given_by_user(setup))


def mode_loss(setup: Setup, energy: Mapping[str, FloatArray], *, side: str = "likely") -> FloatArray:
    """Return the loss factor of modes whose strain energy lies so in regions and faces.

    Parameters
    ----------
    setup
        The set-up.
    energy
        Energy of each mode in every region and face, any unit, shape (n,) each.
    side
        End of the bands: low, likely or high.

    Returns
    -------
    ndarray
        Loss factors [-], shape (n,).

    Source
    ------
    Johnson & Kienholz 1982 for the shares (recalled, not opened).
    """
    bands = {name: getattr(band, side) for name, band in loss_factors(setup, list(energy)).items()}
    if given_by_user(setup):
        return modal_loss_factors(energy, bands)
    own = ("grip", CARRIER)
    metal = {name: eta if name in own or name in setup.materials else 0.0 for name, eta in bands.items()}
    # What a clamped tool loses at its seat, only the energy that is in the tool loses there.
    tool = 1.0 - energy_shares(energy).get(CARRIER, 0.0)
    total: FloatArray = modal_loss_factors(energy, metal) + tool * getattr(seat_loss(setup), side)
    return total


def given_by_user(setup: Setup) -> bool:
    """Return whether the user gave the loss of the bar or of its grip: then it counts as measured."""
    joint = setup.grip.springs
    bands = [setup.materials["bar"].loss_factor, *([] if joint is None else [joint.loss_factor])]
    return any(band.source == USER_SOURCE or band.source.startswith(MEASURED) for band in bands)
