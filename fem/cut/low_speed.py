"""Low speed and very light cuts: where the flank holds all, squeal, least chip, light-cut models."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import Limit
from stickout.fem.cut.absorber import squeal_limit
from stickout.fem.cut.flank import wave_star
from stickout.fem.force.case import CutCase
from stickout.fem.force.law import edge_form, minimum_chip, tangent_coefficient
from stickout.fem.setup.bands import USER_SOURCE, Band, exactly
from stickout.fem.setup.parts import Cut
from stickout.fem.units import UM

EDGE_RADIUS: Final = Band(
    5 * UM, 15 * UM, 60 * UM, "ground 5 to 20, honed 25 to 60 um (recalled, not opened)"
)


@dataclass(frozen=True)
class LowSpeed:
    """What happens at low speed and in very light cuts.

    Attributes
    ----------
    quiet
        Cutting speed below which the flank keeps any width quiet, low, likely and high [m/s]: a wave as long
        as the flank holds down, at the chatter's pitch without rubbing.
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
    No width sings where the wave is as short as the flank holds down (computed here). See
    stickout.fem.force.law (recalled, not opened).
    """
    tangent = float(tangent_coefficient(case.law, case.edge.mean_chip))
    star, note = wave_star(case), float(limit.chatter_hz)
    return LowSpeed(
        quiet=Band(note * star.low, note * star.likely, note * star.high, star.source),
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
