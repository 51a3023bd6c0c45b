"""Cutting force: the power law of Kienzle, its corrections, its tangent, and the edge-force form.

Components after ISO 3002-4: Fc along the cutting direction, Ff along the feed, Fp passive; force on
the work. SI inside: the power law's thickness in mm is handled here and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.cut.nose import EngagedEdge
from fem.cut.work_materials import WorkMaterial
from meshes.errors import InputError

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
        Orthogonal rake [deg], -20 to 30.
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
        The rake is outside -20 to 30 degrees.

    Source
    ------
    Tool tables (opened); Dietrich & Tschätsch 2014 for the references (recalled, not opened).

    Examples
    --------
    >>> round(rake_factor(12.0), 3)
    0.88
    """
    if not -20.0 <= rake_deg <= 30.0:
        raise InputError(
            key="rake_deg",
            given=rake_deg,
            allowed="from -20 to 30 degrees",
            mend="Measure the rake normal to the cutting edge; 0 to 12 degrees is usual.",
        )
    return 1.0 - percent_per_deg * (rake_deg - reference_deg) / 100.0


def force_law(
    material: WorkMaterial, *, rake_deg: float = 0.0, wear: float = 1.0, tool: float = 1.0,
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
        Orthogonal rake [deg], -20 to 30.
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


def apparent_coefficient(form: EdgeForm, chip: float) -> float:
    """Return the force per chip area of the edge-force form, ``cutting + edge / h``.

    Parameters
    ----------
    form
        The edge-force form.
    chip
        Chip thickness [m].

    Returns
    -------
    float
        Force per chip area [Pa].

    Source
    ------
    Armarego; Budak, Altintas & Armarego 1996 (recalled, not opened).
    """
    return form.cutting + form.edge / chip


def edge_form_force(form: EdgeForm, *, edge: EngagedEdge, thrust_ratio: float) -> CutForce:
    """Return the force of a light cut by the edge-force form, with the integrated normals.

    Parameters
    ----------
    form
        The edge-force form.
    edge
        The engaged edge, one depth.
    thrust_ratio
        Thrust over cutting force [-].

    Returns
    -------
    CutForce
        Components [N]. The chip's share is spread evenly along the engaged edge.

    Source
    ------
    Own combination (computed here).
    """
    total = form.cutting * float(edge.area) + form.edge * float(edge.length)
    run, rise = _mean_normal(edge)
    return CutForce(c=total, f=thrust_ratio * total * rise, p=thrust_ratio * total * run)


def _mean_normal(edge: EngagedEdge) -> tuple[float, float]:
    """Return the mean of the local normal over the whole engaged edge, passive and feed parts."""
    r, trail = edge.nose_radius, float(edge.trailing_angle)
    run = (float(edge.cos_integral) + r * np.sin(trail)) / float(edge.length)
    rise = (float(edge.sin_integral) - r * (1.0 - np.cos(trail))) / float(edge.length)
    return float(run), float(rise)


def local_chip(edge: EngagedEdge, points: int = 80) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the engaged edge in pieces: normal angle, chip thickness along it, and length of each.

    The thickness runs from the edge along the normal to the surface of the previous pass (arc or
    straight) or to the uncut surface, whichever comes first.

    Parameters
    ----------
    edge
        The engaged edge, one depth.
    points
        Gauss points in each smooth piece.

    Returns
    -------
    tuple of ndarray
        Angles [rad], thicknesses [m] and lengths [m], each of shape (n,).

    Source
    ------
    Own derivation (computed here).
    """
    r, kappa, f, ap = edge.nose_radius, edge.edge_angle, edge.feed, float(edge.depth)
    trail, lead, straight = float(edge.trailing_angle), float(edge.leading_angle), float(edge.straight_length)
    x, weight = np.polynomial.legendre.leggauss(points)
    # Where the surface of the previous pass comes out at the uncut surface the thickness has a kink.
    crest = r * np.sin(lead) + straight * np.cos(kappa) - f
    kink = float(np.clip(np.arctan2(crest, r - ap), -trail, lead))
    on_line = float(np.clip(crest * np.cos(kappa) - (r - ap) * np.sin(kappa), -straight, 0.0)) if straight else 0.0
    pieces = []
    for start, end in ((-trail, min(0.0, kink)), (min(0.0, kink), max(0.0, kink)), (max(0.0, kink), lead)):
        phi = (start + end) / 2.0 + (end - start) / 2.0 * x
        pieces.append((phi, np.zeros_like(phi), r * (end - start) / 2.0 * weight))
    for start, end in ((0.0, -on_line), (-on_line, straight)):
        along = (start + end) / 2.0 + (end - start) / 2.0 * x
        pieces.append((np.full_like(along, kappa), along, (end - start) / 2.0 * weight))
    phi, along, length = (np.concatenate(part) for part in zip(*pieces, strict=True))
    return phi, _thickness(edge, phi, along), length


def _thickness(edge: EngagedEdge, phi: FloatArray, along: FloatArray) -> FloatArray:
    """Return the chip thickness [m] at edge points: angle phi, distance along the straight edge."""
    r, kappa, f, ap = edge.nose_radius, edge.edge_angle, edge.feed, float(edge.depth)
    p = r * np.cos(phi) - along * np.sin(kappa)
    q = r * np.sin(phi) + along * np.cos(kappa)
    # Distance back along the normal to the circle of the previous pass, centre at (0, -f).
    reach = p * np.cos(phi) + (q + f) * np.sin(phi)
    rest = np.maximum(r**2 - (p**2 + (q + f) ** 2 - reach**2), 0.0)
    to_arc = reach - np.sqrt(rest)
    met = np.arctan2(q + f - to_arc * np.sin(phi), p - to_arc * np.cos(phi))
    slope = np.cos(phi - kappa)
    beyond = p * np.cos(kappa) + (q + f) * np.sin(kappa) - r
    to_line = beyond / np.where(slope > 0.0, slope, 1.0)
    hit_line = (slope > 0.0) & ((met > kappa) | (r == 0.0))
    # A ray that leaves a straight edge below 90 degrees always meets the straight edge before it.
    hit_line |= (along > 0.0) & (along > -f * np.cos(kappa))
    previous = np.where(hit_line, to_line, to_arc)
    down = np.cos(phi)
    to_surface = np.where(down > 1e-12, (p - (r - ap)) / np.where(down > 1e-12, down, 1.0), np.inf)
    return np.asarray(np.maximum(np.minimum(previous, to_surface), 0.0))


def local_force(law: ForceLaw, edge: EngagedEdge) -> CutForce:
    """Return the force by integrating local thickness and local normals along the edge.

    Parameters
    ----------
    law
        The force law.
    edge
        The engaged edge, one depth.

    Returns
    -------
    CutForce
        Components [N].

    Source
    ------
    Own integration (computed here); the approach as in Ozlu & Budak 2006 (recalled, not opened).
    """
    phi, chip, length = local_chip(edge)
    force = law.kc11 * MM**law.mc * chip ** (1.0 - law.mc) * length
    thrust = law.thrust_ratio * force
    return CutForce(
        c=float(force.sum()), f=float((thrust * np.sin(phi)).sum()), p=float((thrust * np.cos(phi)).sum())
    )


def chord_force(law: ForceLaw, edge: EngagedEdge) -> CutForce:
    """Return the force by the chord rule: mean thickness, thrust normal to the chord of the edge.

    Parameters
    ----------
    law
        The force law.
    edge
        The engaged edge, one depth.

    Returns
    -------
    CutForce
        Components [N], shown beside ``local_force`` for comparison.

    Source
    ------
    Colwell, Trans. ASME 76 (1954) 199 (recalled, not opened).
    """
    force = float(specific_force(law, edge.mean_chip) * edge.area)
    thrust, chord = law.thrust_ratio * force, float(edge.chord_angle)
    return CutForce(c=force, f=thrust * np.sin(chord), p=thrust * np.cos(chord))


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
