"""Cutting force: the power law of Kienzle, its corrections, its tangent, and the edge-force form.

Components after ISO 3002-4: Fc along the cutting direction, Ff along the feed, Fp passive; force on
the work. SI inside: the power law's thickness in mm is handled here and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.setup.work_materials import WorkMaterial
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]

MM = 1e-3
N_PER_MM2 = 1e6


@dataclass(frozen=True)
class ForceLaw:
    """Force per chip area, corrected for rake, wear and tool.

    Attributes
    ----------
    kc11
        Specific cutting force at 1 mm chip thickness, corrections included [Pa].
    mc
        Exponent [-].
    thrust_ratio
        Thrust along the local edge normal as a share of the cutting force [-].
    """

    kc11: float
    mc: float
    thrust_ratio: float


@dataclass(frozen=True)
class EdgeForm:
    """Edge-force form for very light cuts: ``F = (cutting h + edge) b``.

    Attributes
    ----------
    cutting
        Force per chip area [Pa]; it is also the tangent.
    edge
        Force per edge length that does not depend on the chip [N/m].
    """

    cutting: float
    edge: float


@dataclass(frozen=True)
class CutForce:
    """Force on the work [N]: ``c`` cutting, ``f`` feed, ``p`` passive. The tool feels the opposite."""

    c: float
    f: float
    p: float


def rake_factor(rake_deg: float, *, percent_per_deg: float = 1.0, reference_deg: float = 0.0) -> float:
    """Return the correction of the cutting force for rake, ``1 - q (rake - reference) / 100``.

    Parameters
    ----------
    rake_deg
        Orthogonal rake [deg], -45 to 45.
    percent_per_deg
        q [%/deg]: 1 in tool tables, 1.5 in some handbooks.
    reference_deg
        Rake for which the table holds [deg]: 0 in tool tables; 6 for steel and 2 for cast iron elsewhere.

    Returns
    -------
    float
        Factor [-].

    Raises
    ------
    InputError
        The rake is outside -45 to 45 degrees.

    Source
    ------
    Tool tables (opened); Dietrich & Tschätsch 2014 for the references (recalled, not opened).

    Examples
    --------
    >>> round(rake_factor(12.0), 3)
    0.88
    """
    if not -45.0 <= rake_deg <= 45.0:
        raise InputError(
            key="rake_deg",
            given=rake_deg,
            allowed="from -45 to 45 degrees",
            mend="Measure the rake normal to the cutting edge; 0 to 12 degrees is usual.",
        )
    return 1.0 - percent_per_deg * (rake_deg - reference_deg) / 100.0


def force_law(
    material: WorkMaterial,
    *,
    rake_deg: float = 0.0,
    wear: float = 1.0,
    tool: float = 1.0,
    thrust_ratio: float = 0.4,
) -> ForceLaw:
    """Return the force law of a work material for a rake, a state of wear and a kind of tool.

    The thrust falls with rake by about 4.5 % a degree (feed 5, passive 4), several times as fast as
    the cutting force; it is taken as ``(1 - 0.045)^rake``, which has that slope and never turns negative.

    Parameters
    ----------
    material
        The work material.
    rake_deg
        Orthogonal rake [deg], -45 to 45.
    wear
        Factor for a worn edge [-]: 1 sharp, 1.3 to 1.5 worn.
    tool
        Factor for the tool material [-]: 1 carbide, 1.15 to 1.2 high-speed steel at low speed.
    thrust_ratio
        Thrust over cutting force at zero rake [-], usually 0.3 to 0.5.

    Returns
    -------
    ForceLaw
        The corrected law.

    Raises
    ------
    InputError
        The rake is outside its range, or a factor is not above zero.

    Source
    ------
    Thrust slopes after Klocke (recalled, not opened); wear and tool factors [j.Kwear, j.Kv_HSS]
    (recalled, not opened); thrust ratio (common practice, no source).
    """
    for key, value in (("wear", wear), ("tool", tool), ("thrust_ratio", thrust_ratio)):
        if not value > 0.0:
            raise InputError(
                key=key, given=value, allowed="above 0", mend="Use 1 for no correction, 0.4 for thrust_ratio."
            )
    along = rake_factor(rake_deg)
    across = (1.0 - 0.045) ** rake_deg
    return ForceLaw(
        kc11=material.kc11_n_per_mm2 * N_PER_MM2 * along * wear * tool,
        mc=material.mc,
        thrust_ratio=thrust_ratio * across / along,
    )


def specific_force(law: ForceLaw, chip: FloatArray | float) -> FloatArray:
    """Return the secant coefficient ``kc = kc11 h^-mc`` with h in mm.

    Parameters
    ----------
    law
        The force law.
    chip
        Chip thickness [m].

    Returns
    -------
    ndarray
        Cutting force per chip area [Pa]; holds for 0.05 to 1.5 mm, outside it is an extrapolation.

    Source
    ------
    Kienzle 1952 (recalled, not opened).
    """
    return np.asarray(law.kc11 * (np.asarray(chip) / MM) ** -law.mc)


def tangent_coefficient(law: ForceLaw, chip: FloatArray | float) -> FloatArray:
    """Return the slope of force per width over chip thickness, ``(1 - mc) kc``: what stability needs.

    Parameters
    ----------
    law
        The force law.
    chip
        Chip thickness [m].

    Returns
    -------
    ndarray
        Slope [Pa].

    Source
    ------
    Derivative of the power law (computed here).
    """
    return np.asarray((1.0 - law.mc) * specific_force(law, chip))


def edge_form(law: ForceLaw, *, thin: float = 0.02 * MM, thick: float = 0.15 * MM) -> EdgeForm:
    """Return the straight line that meets the power law at two chip thicknesses.

    Parameters
    ----------
    law
        The force law.
    thin, thick
        The two thicknesses [m].

    Returns
    -------
    EdgeForm
        Cutting and edge coefficients. The tangent stays finite as the chip vanishes.

    Source
    ------
    Form: Armarego; Budak, Altintas & Armarego 1996 (recalled, not opened); two points computed here.
    """
    force_thin, force_thick = (float(specific_force(law, h) * h) for h in (thin, thick))
    slope = (force_thick - force_thin) / (thick - thin)
    return EdgeForm(cutting=slope, edge=force_thin - slope * thin)


def minimum_chip(edge_radius: float, *, friction: float = 0.5) -> float:
    """Return the chip thickness below which the edge rubs instead of cutting.

    Parameters
    ----------
    edge_radius
        Rounding of the edge [m]: 5 to 20 um sharp, 25 to 60 um honed or coated.
    friction
        Friction coefficient [-].

    Returns
    -------
    float
        ``edge_radius (1 - cos(pi/4 - atan(friction)/2))`` [m]; published spread 0.1 to 0.45 edge_radius.

    Source
    ------
    Son, Lim, Kumaran, Wong 2005 (recalled, not opened).
    """
    return float(edge_radius * (1.0 - np.cos(np.pi / 4.0 - np.arctan(friction) / 2.0)))
