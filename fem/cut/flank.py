"""How much the flank of an edge rubs on the wave it has cut: parameters, and its matrix for a cut."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Final

import numpy as np

from stickout.fem.force.case import CutCase
from stickout.fem.force.directions import EdgeShape, MatrixOfDepth, matrix_of_depth
from stickout.fem.force.edge_matrices import flank_matrix
from stickout.fem.force.law import tangent_coefficient
from stickout.fem.setup.bands import USER_SOURCE, Band, exactly
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

_PRACTICE: Final = "calibrated on everyday cuts (common practice, no source)"
# Wave on the work that the flank holds down [m], by the state of the edge.
EDGES: Final[Mapping[str, Band]] = {
    "ground": Band(0.08 * MM, 0.25 * MM, 1.0 * MM, _PRACTICE),
    "honed": Band(0.15 * MM, 0.5 * MM, 2.0 * MM, _PRACTICE),
    "worn": Band(0.5 * MM, 1.5 * MM, 4.0 * MM, _PRACTICE),
}
LAND_CONTACT: Final = 7.84e13
FRICTION: Final = Band(0.1, 0.3, 0.6, "friction of the flank: common practice, no source")
_CASES: Final = 64  # whose matrices are kept
CLEARANCE_DEG: Final = Band(5.0, 7.0, 11.0, "clearance of usual edges: common practice, no source")


def thrust_slope(case: CutCase) -> float:
    """Return the slope of the thrust per width at the mean chip, Kr [Pa]."""
    return case.law.thrust_ratio * float(tangent_coefficient(case.law, case.edge.mean_chip))


def wave_of_land(contact: float, land: float, *, thrust: float) -> float:
    """Return the wave on the work below which a land of the flank holds down any width of cut [m].

    Parameters
    ----------
    contact
        Flank contact coefficient Ksp [N/m^3]; published values lie between 1.5e13 and 4.1e14 (recalled).
    land
        Length of the land Lw [m].
    thrust
        Slope of the thrust per width Kr [Pa].

    Source
    ------
    ``2 pi C / Kr`` with ``C = Ksp Lw^2 / 4`` (Wu 1989; recalled, not opened).
    """
    return 2.0 * np.pi * contact * land**2 / 4.0 / thrust


def wave_star(case: CutCase) -> Band:
    """Return the wave on the work below which the flank holds down any width of cut [m].

    Source
    ------
    ``wave_of_land`` where the land is given, else by the state of the edge.
    """
    usual = EDGES[case.cut.edge or "ground"]
    land = case.cut.edge_land_mm
    if land is None:
        return usual
    likely = wave_of_land(LAND_CONTACT, land * MM, thrust=thrust_slope(case))
    low, high = (likely * one / usual.likely for one in (usual.low, usual.high))
    return Band(low, likely, high, "land given; contact of the flank: published range (recalled, not opened)")


def clearance(case: CutCase) -> Band:
    """Return the clearance of the edge [rad]."""
    given = case.cut.clearance_deg
    band = CLEARANCE_DEG if given is None else exactly(given, USER_SOURCE)
    low, likely, high = (float(np.radians(one)) for one in (band.low, band.likely, band.high))
    return Band(low, likely, high, band.source)


def flank_coefficient(case: CutCase) -> float:
    """Return the thrust of the flank for each metre of edge and unit of slope, C [N/m]."""
    return wave_star(case).likely * thrust_slope(case) / (2 * np.pi)


@lru_cache(maxsize=_CASES)
def flank_of_depth(case: CutCase) -> MatrixOfDepth:
    """Return the function that gives C_B in the bar frame [N] for depths, its coefficient held at the cut's.

    Notes
    -----
    A direction that the user gives for the force turns the cut's force alone: the flank presses along the
    normal of the surface it has cut, wherever the chip's force goes.
    """
    coefficient, edge = flank_coefficient(case), case.edge
    shape = EdgeShape(edge.feed, float(edge.nose_radius), float(np.degrees(edge.edge_angle)), edge.corners)
    return matrix_of_depth(
        case.directions,
        shape,
        of_edge=lambda one: flank_matrix(one, coefficient, friction=FRICTION.likely),
    )


def flank_of(case: CutCase) -> FloatArray:
    """Return C_B in the bar frame at the depth of the cut [N], shape (3, 3)."""
    return flank_of_depth(case)(np.asarray(case.depth))


def ceiling_of(wavelength: float, clearance_angle: float) -> float:
    """Return how far a vibration grows before the back of the edge meets the wave [m]: about.

    Source
    ------
    ``wave tan(clearance) / 2 pi``, the steepest slope of a sine (computed here).
    """
    return float(wavelength * np.tan(clearance_angle) / (2 * np.pi))
