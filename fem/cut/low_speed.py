"""Low speed and very light cuts: a quiet speed, squeal, least chip, light-cut models."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.low_speed import (
    CONTACT_BAND,
    quiet_speed,
)
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import Limit
from stickout.fem.cut.absorber import squeal_limit
from stickout.fem.force.case import CutCase
from stickout.fem.force.law import edge_form, minimum_chip, tangent_coefficient
from stickout.fem.setup.bands import USER_SOURCE, Band, exactly
from stickout.fem.setup.parts import Cut
from stickout.fem.units import MM, UM

LAND: Final = 0.02 * MM
CONTACT: Final = Band(
    CONTACT_BAND[0],
    float(np.sqrt(CONTACT_BAND[0] * CONTACT_BAND[1])),
    CONTACT_BAND[1],
    "Wu 1989; Chiou & Liang 1998: range of published values (recalled, not opened)",
)
EDGE_RADIUS: Final = Band(
    5 * UM, 15 * UM, 60 * UM, "ground 5 to 20, honed 25 to 60 um (recalled, not opened)"
)


@dataclass(frozen=True)
class LowSpeed:
    """What happens at low speed and in very light cuts.

    Attributes
    ----------
    quiet
        Cutting speed below which rubbing keeps any width quiet, low, likely and high [m/s]: a trend.
    squeal
        Fall of the cutting force with speed at which the tool squeals by itself [N s/m].
    least_chip
        Chip thickness below which the edge rubs, low, likely and high [m].
    edge_form_factor
        Margin by the edge-force form over that by the power law [-]: how far two light-cut models differ.
    """

    quiet: Band
    squeal: float
    least_chip: Band
    edge_form_factor: float


def low_speed(case: CutCase, model: ModalModel, *, limit: Limit) -> LowSpeed:
    """Return what low speed and a light cut do.

    Parameters
    ----------
    case
        The cut.
    model
        Modal model of tool and work.
    limit
        The limit; its frequency is the one that rubbing acts on.

    Returns
    -------
    LowSpeed
        Trends with their bands.

    Source
    ------
    See stickout.fem.chatter.low_speed and stickout.fem.force.law (recalled, not opened).
    """
    tangent = float(tangent_coefficient(case.law, case.edge.mean_chip))
    thrust = case.law.thrust_ratio * tangent
    low, likely, high = (
        quiet_speed(contact, LAND, omega=float(limit.omega), thrust=thrust)
        for contact in (CONTACT.low, CONTACT.likely, CONTACT.high)
    )
    return LowSpeed(
        quiet=Band(low, likely, high, CONTACT.source),
        squeal=squeal_limit(model, case.directions.cutting),
        least_chip=least_chip(case.cut),
        edge_form_factor=tangent / edge_form(case.law).cutting,
    )


def edge_radius(cut: Cut) -> Band:
    """Return the rounding of the edge [m]: the user's, or the usual band."""
    return EDGE_RADIUS if cut.edge_radius_um is None else exactly(cut.edge_radius_um * UM, USER_SOURCE)


def least_chip(cut: Cut) -> Band:
    """Return the chip thickness below which the edge rubs [m].

    Source
    ------
    Son, Lim, Kumaran, Wong 2005 (recalled, not opened), friction 0.3 to 0.7.
    """
    radius = edge_radius(cut)
    return Band(
        minimum_chip(radius.low, friction=0.7),
        minimum_chip(radius.likely, friction=0.5),
        minimum_chip(radius.high, friction=0.3),
        radius.source,
    )
