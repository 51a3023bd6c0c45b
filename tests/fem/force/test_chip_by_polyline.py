"""The chip along the edge against plain geometry: the pass before as a polyline, cut by each normal."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.force.edge_load import FloatArray, local_chip
from stickout.fem.force.nose import engaged_edge

MM = 1e-3


def profile(nose: float, kappa: float, feed: float) -> FloatArray:
    """Return the tool's outline one feed earlier, columns p (into the work) and q (along the feed)."""
    phi = np.linspace(-np.pi / 2, kappa, 4001)
    arc = nose * np.stack([np.cos(phi), np.sin(phi)], axis=1)
    tangent = np.array([-np.sin(kappa), np.cos(kappa)])
    line = arc[-1] + np.linspace(0.0, 3.0, 3)[1:, None] * MM * tangent
    return np.vstack([arc, line]) - [0.0, feed]


def first_hit(point: FloatArray, normal: FloatArray, outline: FloatArray) -> float:
    """Return the distance from a point back along the normal to the outline, infinity without a hit."""
    start, leg = outline[:-1], np.diff(outline, axis=0)
    # point - t normal = start + s leg
    det = -normal[0] * leg[:, 1] + normal[1] * leg[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        away = start - point
        t = (away[:, 0] * leg[:, 1] - away[:, 1] * leg[:, 0]) / det
        s = (normal[0] * away[:, 1] - normal[1] * away[:, 0]) / det
    hits = t[(s >= 0) & (s <= 1) & (t > -1e-7)]  # a point on the crest counts as a hit
    return float(hits.min()) if hits.size else np.inf


@pytest.mark.parametrize("angle", [45.0, 75.0, 90.0, 105.0, 120.0])
@pytest.mark.parametrize(("nose", "depth", "feed"), [(0.4, 0.9, 0.25), (0.2, 0.5, 0.15), (0.8, 0.3, 0.2)])
def test_every_chip_is_the_way_to_the_pass_before(
    angle: float, nose: float, depth: float, feed: float
) -> None:
    """From the edge back along its normal: to the surface of the pass before or to the uncut one."""
    kappa = np.radians(angle)
    edge = engaged_edge(depth * MM, feed * MM, nose_radius=nose * MM, edge_angle_deg=angle)
    phi, chip, length = local_chip(edge)
    # Place of each piece: on the arc by its angle; on the straight edge in the order they come.
    arc = phi < kappa - 1e-12
    places = nose * MM * np.stack([np.cos(phi), np.sin(phi)], axis=1)
    along = np.cumsum(length[~arc]) - length[~arc] / 2
    places[~arc] += along[:, None] * np.array([-np.sin(kappa), np.cos(kappa)])
    outline = profile(nose * MM, kappa, feed * MM)
    uncut = (nose - depth) * MM
    for place, turn, told in zip(places, phi, chip, strict=True):
        normal = np.array([np.cos(turn), np.sin(turn)])
        down = normal[0]
        surface = (place[0] - uncut) / down if down > 1e-12 else np.inf
        # Middle of each Gauss piece: its place is off by a part of its length, 2 um at most here.
        assert told == pytest.approx(
            max(min(first_hit(place, normal, outline), surface), 0.0), abs=2e-3 * MM
        ), (float(np.degrees(turn)), place)
