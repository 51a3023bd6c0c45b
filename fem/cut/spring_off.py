"""Spring-off of a cut: size error, taper, what spring passes leave, and what centre height does in a bore."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.beam.work import work_compliance
from stickout.fem.force.case import CutCase
from stickout.fem.force.spring_off import (
    centre_angle,
    deflection,
    spring_off,
    spring_passes,
    taper_on_diameter,
    turned_radius,
)
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

PASSES: Final = 4
OFF_CENTRE: Final = 0.1 * MM
_DEPTHS: Final = 7
_STATIONS: Final = 21


@dataclass(frozen=True)
class SpringOff:
    """Where the force pushes edge and work.

    Attributes
    ----------
    edge
        Static deflection of the edge in the bar frame [m], shape (3,).
    radial
        How far edge and work part along the passive direction [m]; above zero: the cut comes shallow.
    left
        Left on the radius after each pass at the same setting [m], shape (4,).
    taper
        Greatest less least error of the diameter along the work [m]; None where the work is not described.
    bore
        Effect of the edge's height in a bore; None for other cuts or an unknown diameter.
    """

    edge: FloatArray
    radial: float
    left: FloatArray
    taper: float | None
    bore: BoreHeight | None


@dataclass(frozen=True)
class BoreHeight:
    """Centre height in a bore.

    Attributes
    ----------
    drop
        How far the edge sinks under the force [m].
    clearance_lost
        Clearance angle that the drop takes at an edge set on centre [rad].
    diameter_change
        Change of the bored diameter by that drop when the edge is set 0.1 mm above centre [m].
    """

    drop: float
    clearance_lost: float
    diameter_change: float


def spring_off_of(setup: Setup, case: CutCase, *, static: FloatArray) -> SpringOff:
    """Return the spring-off of a cut.

    Parameters
    ----------
    setup
        The set-up.
    case
        Its cut.
    static
        Static compliance of the edge alone [m/N], shape (3, 3).

    Returns
    -------
    SpringOff
        Errors and what passes leave.

    Source
    ------
    See stickout.fem.force.spring_off (computed here).
    """
    passive = case.directions.passive
    at = 0.0 if setup.work is None else setup.work.cut_at_mm * MM
    both = static + work_compliance(setup, np.array([at]))[0]
    depths = np.linspace(0.0, case.depth, _DEPTHS)
    pushes = [0.0, *(spring_off(both, case.force_at(d), passive=passive) for d in depths[1:])]
    # The balance wants a push that does not fall with depth; a pull into the work counts as no push.
    rising = np.maximum.accumulate(np.maximum(pushes, 0.0))
    left = spring_passes(case.depth, lambda d: float(np.interp(d, depths, rising)), passes=PASSES)
    return SpringOff(
        edge=deflection(static, case.on_tool),
        radial=float(pushes[-1]),
        left=left,
        taper=_taper(setup, case, static),
        bore=_bore(case, static),
    )


def _taper(setup: Setup, case: CutCase, static: FloatArray) -> float | None:
    """Return the range of the diameter's error from the headstock to the cut."""
    if setup.work is None:
        return None
    stations = np.linspace(0.0, setup.work.cut_at_mm * MM, _STATIONS)
    passive = case.directions.passive
    offs = [
        spring_off(static + give, case.on_tool, passive=passive) for give in work_compliance(setup, stations)
    ]
    return abs(taper_on_diameter([min(offs), max(offs)]))


def _bore(case: CutCase, static: FloatArray) -> BoreHeight | None:
    """Return what the drop of the edge does in a bore."""
    diameter = case.cut.work_diameter_mm
    if case.cut.operation != "boring" or diameter is None:
        return None
    radius = 0.5 * diameter * MM
    drop = -float(case.directions.cutting @ deflection(static, case.on_tool))
    drop = min(drop, 0.5 * radius)
    changed = turned_radius(radius, OFF_CENTRE, drop=drop) - radius
    return BoreHeight(drop, centre_angle(radius, drop), 2.0 * changed)
