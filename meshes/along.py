"""Where the stations along a held bar lie."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from stickout.meshes.parts import Hold, Wrap
from stickout.meshes.pieces import MM, Fineness, Piece, depth_of, slenderness
from stickout.meshes.sweep import halved, stations
from stickout.meshes.tagged import FloatArray

# No cells are drawn together at a shoulder lower than this part of the first layer: none would see it.
_SHALLOW = 0.25


def stations_of(pieces: Sequence[Piece], wrap: Wrap | None, *, hold: Hold, fineness: Fineness) -> FloatArray:
    """Return the stations along the bar, crowded where the stress is singular.

    Parameters
    ----------
    pieces
        Lengths of the bar.
    wrap
        A layer round it.
    hold
        What holds it.
    fineness
        How fine.

    Returns
    -------
    ndarray
        Stations [m], rising.
    """
    depth = depth_of(pieces)
    tip = pieces[-1].stop
    low = fineness.first * depth * _SHALLOW
    hot = {0.0} | {p.start for q, p in pairwise(pieces) if _shoulder(q, p) > low}
    hot |= {-x * MM for x in hold.pressed_mm or ()}
    cool = {pieces[0].start, tip} | {p.start for p in pieces[1:]} - hot
    if hold.block is not None:
        # Its base is held up to both ends, where the bar's pressure in the bore stops too.
        hot, cool = hot | {pieces[0].start}, cool - {pieces[0].start}
    if wrap is not None:
        ends = {wrap.start_mm * MM, (wrap.start_mm + wrap.length_mm) * MM}
        ends = {min((t for t in (tip,) if abs(t - e) < 1e-9 * tip), default=e) for e in ends}
        (hot if wrap.bond == "bonded" else cool).update(ends)
        if wrap.bond == "bonded":
            cool -= ends & {tip}
    for screw in hold.screws_mm:
        cool |= {-(screw + s * hold.screw_side_mm / 2) * MM for s in (-1, 1)}
    hot = (hot - cool) | {0.0}
    breaks = sorted(hot | cool)
    sizes = {"first": fineness.first * depth, "ratio": fineness.ratio}
    longest = fineness.longest * depth * slenderness(pieces)
    # Behind the holder face the bar moves less and less: layers twice as long do there.
    back = max(1.0, 2 / slenderness(pieces)) * longest
    behind = stations([b for b in breaks if b <= 0], sorted(hot), longest=back, **sizes)
    ahead = stations([b for b in breaks if b >= 0], sorted(hot), longest=longest, **sizes)
    at = np.concatenate([behind, ahead[1:]])
    met = [h for h in sorted(hot) if h in breaks and at[0] <= h <= at[-1]]
    return halved(at, met, fineness=fineness.by(0), first=sizes["first"], more=fineness.along)


def _shoulder(one: Piece, other: Piece) -> float:
    """Return how high the shoulder between two lengths is [m]: outside or in the bore."""
    rays = np.linspace(0, np.pi / 2, 31)
    bores = [np.zeros(31) if p.bore is None else p.bore.reach(rays) for p in (one, other)]
    outside = np.abs(one.outline.reach(rays) - other.outline.reach(rays)).max()
    return float(max(outside, np.abs(bores[0] - bores[1]).max()))
