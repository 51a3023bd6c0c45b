"""A blade that cuts its full width into the work, for parting, grooving, forming: two corners.

The local normal turns from p at one side wall over the front edge to -p at the other: angles from 0 to pi,
the front edge at the angle kappa (90 degrees where it stands square to the infeed).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.checks import check_cut
from stickout.fem.force.nose import EngagedEdge, engaged_edge

FloatArray = NDArray[np.float64]

BLADE: Final = 2
"""Corners of a blade; a nose has one."""


def corners_of(operation: str | None) -> int:
    """Return how many corners of the edge cut in an operation."""
    return BLADE if operation == "parting" else 1


def cutting_edge(
    depth: FloatArray | float, feed: float, *, nose_radius: float, edge_angle_deg: float, corners: int
) -> EngagedEdge:
    """Return the engaged edge of a nose, or of a blade where two corners cut.

    Parameters
    ----------
    depth
        Radial depth of cut of a nose, width of the groove for a blade [m], one or an array.
    feed
        Feed per revolution [m].
    nose_radius
        Radius of the nose, or of both corners of a blade [m].
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].
    corners
        1 or 2.

    Raises
    ------
    InputError
        See ``check_cut``.
    """
    if corners == BLADE:
        return engaged_blade(depth, feed, corner_radius=nose_radius, edge_angle_deg=edge_angle_deg)
    return engaged_edge(depth, feed, nose_radius=nose_radius, edge_angle_deg=edge_angle_deg)


def engaged_blade(
    width: FloatArray | float, feed: float, *, corner_radius: float, edge_angle_deg: float
) -> EngagedEdge:
    """Return the engaged edge of a blade that cuts its full width.

    Parameters
    ----------
    width
        Width of the groove [m], one or an array.
    feed
        Infeed per revolution [m].
    corner_radius
        Radius of both corners [m]; a narrower blade than twice that is round all over.
    edge_angle_deg
        Angle of the front edge against the wall [deg]: 90 stands square to the infeed.

    Returns
    -------
    EngagedEdge
        With two corners; area is width times feed, for the whole profile moves on by one feed.

    Raises
    ------
    InputError
        See ``check_cut``.

    Source
    ------
    Integrals of the normal over two arcs and a straight edge (computed here).
    """
    check_cut(width, feed, nose_radius=corner_radius, edge_angle_deg=edge_angle_deg)
    kappa = float(np.radians(edge_angle_deg))
    width = np.asarray(width, dtype=np.float64)
    r = np.minimum(corner_radius, width / 2)
    straight = (width - 2 * r) / np.sin(kappa)
    length = np.pi * r + straight
    sin_k, cos_k, arcs = np.sin(kappa), np.cos(kappa), np.pi * r / 2
    return EngagedEdge(
        depth=width,
        feed=feed,
        nose_radius=r,
        edge_angle=kappa,
        trailing_angle=np.asarray(0.0),
        leading_angle=np.asarray(np.pi),
        straight_length=np.asarray(straight),
        area=np.asarray(width * feed),
        length=np.asarray(length),
        mean_chip=np.asarray(width * feed / length),
        chord_angle=np.asarray(kappa),
        width_pp=np.asarray(arcs + straight * cos_k**2),
        width_ff=np.asarray(arcs + straight * sin_k**2),
        width_pf=np.asarray(straight * sin_k * cos_k),
        cos_integral=np.asarray(straight * cos_k),
        sin_integral=np.asarray(2 * r + straight * sin_k),
        corners=BLADE,
    )


def blade_chip(edge: EngagedEdge, points: tuple[FloatArray, FloatArray]) -> tuple[FloatArray, ...]:
    """Return a blade's edge in pieces: normal angle [rad], chip thickness [m], length of each [m], (..., n).

    Parameters
    ----------
    edge
        An engaged edge of two corners.
    points
        Gauss points of an interval from -1 to 1 and their weights.

    Source
    ------
    Distance back along the normal to the same profile one feed before (computed here).
    """
    f, kappa = edge.feed, edge.edge_angle
    r, straight = (np.asarray(one)[..., None] for one in (edge.nose_radius, edge.straight_length))
    x, weight = points
    pieces = []
    for start, end, side in ((0.0, kappa, 1.0), (kappa, np.pi, -1.0)):
        phi = (start + end) / 2 + (end - start) / 2 * x
        to_arc = r + f * np.sin(phi) - np.sqrt(np.maximum(r**2 - (f * np.cos(phi)) ** 2, 0.0))
        # Where the ray back from the arc comes out on the last front edge, not on the last arc.
        met = np.arctan2((r - to_arc) * np.sin(phi) + f, (r - to_arc) * np.cos(phi))
        to_front = (r * np.cos(phi - kappa) + f * np.sin(kappa) - r) / np.cos(phi - kappa)
        chip = np.where(side * (met - kappa) > 0.0, to_front, to_arc)
        pieces.append((np.broadcast_to(phi, chip.shape), chip, r * (end - start) / 2 * weight))
    length = straight / 2 * weight
    pieces.append((np.full_like(length, kappa), np.full_like(length, f * np.sin(kappa)), length))
    phi, chip, length = (np.concatenate(part, axis=-1) for part in zip(*pieces, strict=True))
    return phi, np.maximum(chip, 0.0), length
