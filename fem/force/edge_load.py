"""Force on a nose: local chip thickness along the engaged edge, integrated, beside the chord rule."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.blade import BLADE, blade_chip
from stickout.fem.force.law import MM, CutForce, ForceLaw, specific_force
from stickout.fem.force.nose import EngagedEdge

FloatArray = NDArray[np.float64]
_ROUNDING = 1e-12


def local_chip(edge: EngagedEdge, points: int = 80) -> tuple[FloatArray, ...]:
    """Return engaged edges in pieces: normal angle, chip thickness along it, and length of each.

    The thickness runs from the edge along the normal to the surface of the previous pass (arc or
    straight) or to the uncut surface, whichever comes first.

    Parameters
    ----------
    edge
        The engaged edge, at one depth or at depths of shape (...).
    points
        Gauss points in each smooth piece.

    Returns
    -------
    tuple of ndarray
        Angles [rad], thicknesses [m] and lengths [m], each of shape (..., n).

    Source
    ------
    Own derivation (computed here).
    """
    if edge.corners == BLADE:
        return blade_chip(edge, _gauss(points))
    phi, along, length = _nose_pieces(edge, points)
    return phi, _thickness(edge, phi, along), length


def edge_pieces(edge: EngagedEdge, points: int = 80) -> tuple[FloatArray, FloatArray]:
    """Return normal angles [rad] and lengths [m] of the pieces of ``local_chip``, where no chip is asked for.

    Parameters
    ----------
    edge, points
        As for ``local_chip``, which also names the source.

    Returns
    -------
    tuple of ndarray
        Each of shape (..., n).
    """
    if edge.corners == BLADE:
        phi, _, length = local_chip(edge, points)
        return phi, length
    phi, _, length = _nose_pieces(edge, points)
    return phi, length


def _nose_pieces(edge: EngagedEdge, points: int) -> tuple[FloatArray, ...]:
    """Return the pieces of a nose: normal angle, distance along the straight edge, and length of each."""
    r, kappa, x, weight = edge.nose_radius, edge.edge_angle, *_gauss(points)
    ap, trail, lead, straight = (
        np.asarray(one)[..., None]
        for one in (edge.depth, edge.trailing_angle, edge.leading_angle, edge.straight_length)
    )
    # Where the surface of the previous pass comes out at the uncut surface the thickness has a kink.
    crest = r * np.sin(lead) + straight * np.cos(kappa) - edge.feed
    kink = np.clip(np.arctan2(crest, r - ap), -trail, lead)
    phi, half = _between([-trail, np.minimum(0.0, kink), np.maximum(0.0, kink), lead], x)
    pieces = [(phi, np.zeros_like(phi), _flat(r * half * weight))]
    if straight.any():
        on_line = np.clip(crest * np.cos(kappa) - (r - ap) * np.sin(kappa), -straight, 0.0)
        along, half = _between([np.zeros_like(straight), -on_line, straight], x)
        pieces.append((np.full_like(along, kappa), along, _flat(half * weight)))
    phi, along, length = (np.concatenate(part, axis=-1) for part in zip(*pieces, strict=True))
    return phi, along, length


def _between(bends: Sequence[FloatArray], x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return Gauss points between bends of shape (..., 1), shape (..., n), and half of each distance."""
    ends = np.stack(bends, axis=-2)
    start, end = ends[..., :-1, :], ends[..., 1:, :]
    half = (end - start) / 2.0
    return _flat((start + end) / 2.0 + half * x), half


def _flat(values: FloatArray) -> FloatArray:
    """Return values with their last two axes as one."""
    return values.reshape(*values.shape[:-2], -1)


def _thickness(edge: EngagedEdge, phi: FloatArray, along: FloatArray) -> FloatArray:
    """Return the chip thickness [m] at edge points: angle phi, distance along the straight edge."""
    r, kappa, f, ap = edge.nose_radius, edge.edge_angle, edge.feed, np.asarray(edge.depth)[..., None]
    down, sideways = np.cos(phi), np.sin(phi)
    p = r * down - along * np.sin(kappa)
    q = r * sideways + along * np.cos(kappa)
    # Distance back along the normal to the circle of the previous pass, centre at (0, -f).
    reach = p * down + (q + f) * sideways
    rest = np.maximum(r**2 - (p**2 + (q + f) ** 2 - reach**2), 0.0)
    to_arc = reach - np.sqrt(rest)
    met = np.arctan2(q + f - to_arc * sideways, p - to_arc * down)
    slope = np.cos(phi - kappa)
    beyond = p * np.cos(kappa) + (q + f) * np.sin(kappa) - r
    to_line = beyond / np.where(slope > 0.0, slope, 1.0)
    hit_line = (slope > 0.0) & ((met > kappa) | (r == 0.0))
    # A ray that leaves a straight edge below 90 degrees always meets the straight edge before it.
    hit_line |= (along > 0.0) & (along > -f * np.cos(kappa))
    previous = np.where(hit_line, to_line, to_arc)
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
