"""Pulls with the dial on different bases: what tool, grip and post each give of the movement."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from stickout.fem.bench.pull import BED, HOLDER, POST, SOURCE, UP, Pull, Pulled
from stickout.fem.setup.bands import Band

TOOL, GRIP, CARRIER, REST = "tool", "grip", "carrier", "grip and carrier"
_ONE_PLACE: Final = 0.5e-3


def split_by_base(pulls: Sequence[Pulled], *, tool: Band | None = None) -> Mapping[str, Band]:
    """Return the compliance of tool, grip and what carries it [m/N], as far as dials on two bases tell.

    Parameters
    ----------
    pulls
        Pulls with the dial on different bases; the first of each base at the places of the very first counts.
    tool
        What the tool alone gives there, as computed, for where no dial stood on the holder.

    Returns
    -------
    mapping
        ``tool``, ``grip`` and ``carrier``, or ``grip and carrier`` together, those there are.

    Source
    ------
    Springs in series; intervals add as the root of squares (computed here).
    """
    by_base: dict[str, Band] = {}
    for one in pulls:
        if one.compliance is not None and _alike(one.pull, pulls[0].pull):
            by_base.setdefault(one.pull.base, one.compliance)
    if tool is not None and by_base:
        by_base.setdefault(HOLDER, tool)
    out: dict[str, Band] = {}
    whole = () if POST in by_base else ((REST, BED, HOLDER),)
    for name, outer, inner in ((GRIP, POST, HOLDER), (CARRIER, BED, POST), *whole):
        if outer in by_base and inner in by_base:
            a, b = by_base[outer], by_base[inner]
            low = math.hypot(a.likely - a.low, b.high - b.likely)
            high = math.hypot(a.high - a.likely, b.likely - b.low)
            likely = a.likely - b.likely
            out[name] = Band(likely - low, likely, likely + high, SOURCE)
    return ({TOOL: by_base[HOLDER]} if HOLDER in by_base else {}) | out


def _alike(one: Pull, other: Pull) -> bool:
    """Return whether two pulls were made at one place."""
    return max(abs(one.load_at - other.load_at), abs(one.dial_at - other.dial_at)) < _ONE_PLACE and (
        one.direction or UP
    ) == (other.direction or UP)
