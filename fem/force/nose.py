"""Exact geometry of the engaged edge: a nose arc that runs into a straight edge.

The working plane has axes p (into the work) and f (feed). The local normal at angle phi from the
nose bottom is ``(cos phi, sin phi)``. Previous pass: the same edge one feed behind.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.checks import check_cut

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class EngagedEdge:
    """The part of the edge that cuts. Fields are floats or arrays of one shape (one entry a depth).

    Attributes
    ----------
    depth, feed, nose_radius
        Radial depth, feed per revolution, nose radius [m]; of a blade the corners' radius at each depth.
    edge_angle
        Tool cutting edge angle kappa_r [rad].
    trailing_angle, leading_angle
        Ends of the engaged arc behind and before the nose bottom [rad], both zero or above.
    straight_length
        Engaged length of the straight edge [m].
    area, length, mean_chip
        Chip area [m^2], engaged length [m], and their ratio [m].
    chord_angle
        Angle of the chord of the engaged edge against the feed direction [rad].
    width_pp, width_ff, width_pf
        ``int cos^2``, ``int sin^2`` and ``int sin cos`` of phi along the edge from the nose bottom on [m].
    cos_integral, sin_integral
        ``int cos`` and ``int sin`` of phi along the edge from the nose bottom on [m].
    corners
        1: a nose that runs into a straight edge. 2: a blade that cuts its full width, see ``blade``; the
        depth is then the width of the groove, and all integrals run along the whole edge.
    """

    depth: FloatArray
    feed: float
    nose_radius: FloatArray | float
    edge_angle: float
    trailing_angle: FloatArray
    leading_angle: FloatArray
    straight_length: FloatArray
    area: FloatArray
    length: FloatArray
    mean_chip: FloatArray
    chord_angle: FloatArray
    width_pp: FloatArray
    width_ff: FloatArray
    width_pf: FloatArray
    cos_integral: FloatArray
    sin_integral: FloatArray
    corners: int = 1


def engaged_edge(
    depth: FloatArray | float, feed: float, *, nose_radius: float, edge_angle_deg: float
) -> EngagedEdge:
    """Return the exact geometry of the engaged edge.

    The trailing side is taken as an arc as far as it cuts: the minor edge is assumed not to touch.
    The dynamic widths run from the nose bottom on, because behind it the chip is a sliver.

    Parameters
    ----------
    depth
        Radial depth of cut [m], one or an array.
    feed
        Feed per revolution [m].
    nose_radius
        Nose radius [m]; zero gives a straight edge.
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg], 10 to 120.

    Returns
    -------
    EngagedEdge
        Angles, lengths, area and the integrals of the local normal.

    Raises
    ------
    InputError
        See ``check_cut``.

    Source
    ------
    Own derivation (computed here); arcs as in Ozlu & Budak 2006 (recalled, not opened).
    """
    check_cut(depth, feed, nose_radius=nose_radius, edge_angle_deg=edge_angle_deg)
    ap = np.asarray(depth, dtype=np.float64)
    r, kappa = nose_radius, np.radians(edge_angle_deg)
    reach = np.arccos(np.clip(1.0 - ap / r, -1.0, 1.0)) if r > 0.0 else np.full_like(ap, kappa)
    lead = np.minimum(reach, kappa)
    straight = (
        np.where(reach > kappa, 1.0, float(r == 0.0)) * (ap - r * (1.0 - np.cos(kappa))) / np.sin(kappa)
    )
    straight = np.maximum(straight, 0.0)
    trail = (
        np.minimum(cusp_angle(feed, nose_radius=r, edge_angle=kappa), reach) if r > 0.0 else np.zeros_like(ap)
    )
    length = r * (trail + lead) + straight
    area = chip_area(ap, feed, nose_radius=r, edge_angle=kappa)
    sin_l, cos_l, sin_k, cos_k = np.sin(lead), np.cos(lead), np.sin(kappa), np.cos(kappa)
    rise = ap - r * (1.0 - np.cos(trail))
    run = r * (np.sin(trail) + sin_l) + straight * cos_k
    return EngagedEdge(
        depth=ap,
        feed=feed,
        nose_radius=r,
        edge_angle=float(kappa),
        trailing_angle=trail,
        leading_angle=lead,
        straight_length=straight,
        area=area,
        length=length,
        mean_chip=area / length,
        chord_angle=np.arctan2(rise, run),
        width_pp=r * (lead / 2.0 + sin_l * cos_l / 2.0) + straight * cos_k**2,
        width_ff=r * (lead / 2.0 - sin_l * cos_l / 2.0) + straight * sin_k**2,
        width_pf=r * sin_l**2 / 2.0 + straight * sin_k * cos_k,
        cos_integral=r * sin_l + straight * cos_k,
        sin_integral=r * (1.0 - cos_l) + straight * sin_k,
    )


def cusp_angle(feed: float, *, nose_radius: float, edge_angle: float) -> float:
    """Return how far behind the nose bottom the arc meets the surface of the previous pass.

    Parameters
    ----------
    feed
        Feed per revolution [m], below twice the nose radius.
    nose_radius
        Nose radius [m], above zero.
    edge_angle
        Tool cutting edge angle [rad].

    Returns
    -------
    float
        Angle [rad]. Where the arc of the previous pass ends below the crest, its straight edge is met.

    Source
    ------
    Own derivation (computed here).
    """
    angle = np.arcsin(feed / (2.0 * nose_radius))
    if angle <= edge_angle:
        return float(angle)
    return float(np.arccos(1.0 - feed * np.sin(edge_angle) / nose_radius) - edge_angle)


def chip_area(depth: FloatArray, feed: float, *, nose_radius: float, edge_angle: float) -> FloatArray:
    """Return the exact chip area: depth times feed, less the crest that is left standing.

    Parameters
    ----------
    depth
        Radial depth [m].
    feed
        Feed per revolution [m].
    nose_radius
        Nose radius [m]; zero: no crest.
    edge_angle
        Tool cutting edge angle [rad].

    Returns
    -------
    ndarray
        Area [m^2], the shape of depth; also right where the depth is less than the crest's height.

    Source
    ------
    Own derivation (computed here).
    """
    r = nose_radius
    if r == 0.0:
        return np.asarray(depth * feed)
    crest = r * (1.0 - np.cos(cusp_angle(feed, nose_radius=r, edge_angle=edge_angle)))
    low = np.minimum(depth, crest)
    level = np.arccos(1.0 - low / r)
    half_segment = r**2 / 2.0 * (level - np.sin(level) * np.cos(level))
    turn = np.minimum(level, edge_angle)
    arc_part = r**2 / 2.0 * (turn - np.sin(turn) * np.cos(turn))
    # Above the tangent point the leading side is straight: a trapezium of the height that is left.
    height = low - r * (1.0 - np.cos(turn))
    line_part = height * (r * np.sin(turn) + height / (2.0 * np.tan(edge_angle)))
    return np.asarray(feed * (depth - low) + half_segment + arc_part + line_part)


def crest_height(feed: float, nose_radius: float) -> float:
    """Return the height of the crests that the nose leaves, a lower bound of the roughness Rt.

    Parameters
    ----------
    feed
        Feed per revolution [m].
    nose_radius
        Nose radius [m], above half the feed.

    Returns
    -------
    float
        Height [m], close to ``feed^2 / (8 nose_radius)``.

    Source
    ------
    Geometry of two circles (computed here).
    """
    return float(nose_radius - np.sqrt(nose_radius**2 - feed**2 / 4.0))
