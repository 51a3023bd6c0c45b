"""Force on a nose: local chip thickness along the engaged edge, integrated, beside the chord rule."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.blade import BLADE, blade_chip
from stickout.fem.force.law import MM, CutForce, ForceLaw, specific_force
from stickout.fem.force.nose import EngagedEdge

FloatArray = NDArray[np.float64]
_ROUNDING = 1e-12


def local_chip(edge: EngagedEdge, points: int = 80) -> tuple[FloatArray, ...]:
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
    x, weight = _gauss(points)
    if edge.corners == BLADE:
        return blade_chip(edge, (x, weight))
    # Where the surface of the previous pass comes out at the uncut surface the thickness has a kink.
    crest = r * np.sin(lead) + straight * np.cos(kappa) - f
    kink = float(np.clip(np.arctan2(crest, r - ap), -trail, lead))
    on_line = (
        float(np.clip(crest * np.cos(kappa) - (r - ap) * np.sin(kappa), -straight, 0.0)) if straight else 0.0
    )
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
    total, aside = float(force.sum()), float((thrust * np.cos(phi)).sum())
    # What both corners of a square blade leave is rounding.
    aside = aside if abs(aside) > _ROUNDING * total else 0.0
    return CutForce(c=total, f=float((thrust * np.sin(phi)).sum()), p=aside)


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


@cache
def _gauss(points: int) -> tuple[FloatArray, FloatArray]:
    """Return the Gauss points of an interval from -1 to 1 and their weights."""
    x, weight = np.polynomial.legendre.leggauss(points)
    return x, weight
