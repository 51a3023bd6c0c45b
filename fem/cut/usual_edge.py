"""What a nose radius or an edge angle that was taken as usual does to the margins of a cut."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from stickout.fem.chatter.changed import picked
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.audible import audible
from stickout.fem.cut.flank import clearance, flank_of
from stickout.fem.force.case import CutCase, case_of
from stickout.fem.setup.bands import FactorBand
from stickout.fem.setup.usual import Usual
from stickout.meshes.tagged import FloatArray

NOSE, ANGLE = "nose radius", "edge angle"
_FIELDS: Final = {
    "cut.nose_radius": (NOSE, "nose_radius_mm"),
    "cut.edge_angle_deg": (ANGLE, "edge_angle_deg"),
}
_CAP: Final = 1e3  # margins above it count as this one, as in the charts of the draws


def edge_bands(usual: Iterable[Usual]) -> dict[str, FactorBand]:
    """Return the bands of those numbers of the edge that were taken as usual, as factors of the likely."""
    return {
        _FIELDS[one.key][0]: FactorBand(
            _FIELDS[one.key][0], one.band.low / one.band.likely, one.band.high / one.band.likely
        )
        for one in usual
        if one.key in _FIELDS
    }


def still_usual(bands: Mapping[str, FactorBand], *, case: CutCase, changed: CutCase) -> dict[str, FactorBand]:
    """Return the bands that still hold for a changed cut: a number that was chosen is no longer a guess."""
    same = {
        name for name, field in _FIELDS.values() if getattr(case.cut, field) == getattr(changed.cut, field)
    }
    return {name: band for name, band in bands.items() if name in same}


def edge_factors(
    case: CutCase,
    model: ModalModel,
    *,
    bands: Mapping[str, FactorBand],
    factors: Mapping[str, FloatArray],
    speed: float | None,
) -> FloatArray:
    """Return the factor of every draw's margin.

    Parameters
    ----------
    case
        The cut.
    model
        Modal model of tool and work at the likely grip.
    bands
        Bands of the edge's numbers.
    factors
        Drawn factors of them, shape (count,) each.
    speed
        Cutting speed [m/s]; None without the rubbing of the flank.

    Returns
    -------
    ndarray
        Shape (count,): in the logarithm straight from the likely number to either end of its band, where the
        margin is computed anew. Two numbers count as if neither knew of the other.

    Source
    ------
    First order in each number (computed here); no solve of the bar is made.
    """
    if speed is not None:
        model = picked(model, audible(model, speed=speed, clearance=clearance(case).likely))
    here = _margin(case, model, speed)
    total: FloatArray = np.zeros(1)
    for name, band in bands.items():
        knots = sorted({band.low, 1.0, band.high})
        margins = [_margin(_with(case, name, by), model, speed) / here for by in knots]
        total = total + np.interp(np.log(factors[name]), np.log(knots), np.log(margins))
    return np.asarray(np.exp(total))


def _with(case: CutCase, name: str, factor: float) -> CutCase:
    """Return the cut with one number of its edge changed by a factor."""
    if factor == 1.0:
        return case
    field = next(field for one, field in _FIELDS.values() if one == name)
    return case_of(replace(case.cut, **{field: factor * getattr(case.cut, field)}))


def _margin(case: CutCase, model: ModalModel, speed: float | None) -> float:
    """Return the likely margin of a cut [-], at most the cap."""
    flank = None if speed is None else flank_of(case) / speed
    return min(float(absolute_limit(model, case.stiffness, flank=flank).margin), _CAP)
