"""Likely margins of a cut over its depth, with the rubbing of the flank at each speed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.bell import share_below
from stickout.fem.chatter.depth import depth_scan
from stickout.fem.cut.draws import SCATTER, weighted_quantile
from stickout.fem.cut.flank import flank_of_depth
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.speed_margins import SpeedMargins
from stickout.fem.cut.spread import SHALLOWEST
from stickout.meshes.tagged import FloatArray

# Margins are looked at up to this far from the cut's own, in the logarithm.
_FAR: Final = 30.0
_STEPS: Final = 60  # of a search that needs four as a rule
_CLOSE: Final = 1e-9
# A step of the scan is a factor of some 1.6 in depth.
_SCAN: Final = 18
_CAP: Final = 1e6


@dataclass(frozen=True)
class Chance:
    """A margin [-]: value at the likely inputs, and between which ends it lies nine times in ten."""

    low: float
    likely: float
    high: float


class CutDepths:
    """Likely margins of a cut over its depth, at some of its speeds: what is asked by their numbers."""

    def __init__(self, likely: LikelyLimit, found: SpeedMargins, *, which: Sequence[int]) -> None:
        """Solve the margins at depths from the shallowest to the deepest."""
        case, model = self.case, self.model = likely.case, likely.both
        flank_at, speeds = flank_of_depth(case), found.speeds.cutting[list(which), None, None]
        depths = np.array(sorted({*np.geomspace(SHALLOWEST, likely.deepest, _SCAN).tolist(), case.depth}))
        scan = depth_scan(
            model, case.matrix, depths=depths, flank_of_depth=lambda depth: flank_at(depth) / speeds
        )
        self.depths, self.margin = scan.depths, dict(zip(which, scan.margin.T, strict=True))
        self.limit = dict(zip(which, scan.limit, strict=True))
        self.here = int(np.searchsorted(self.depths, case.depth))

    def ratio(self, at: int) -> FloatArray:
        """Return the margin at each depth over that of the cut, at one speed."""
        margin = self.margin[at]
        return np.asarray(np.minimum(margin, _CAP) / min(margin[self.here], _CAP))

    def limits(self, at: int, margin: Chance) -> tuple[float, float, float]:
        """Return low, likely and high of the depth limit at a speed: the band of the margin carried over."""
        likely = float(self.limit[at])
        out = [self.first(self.ratio(at) * one) for one in (margin.low, margin.high)]
        return min(out[0], likely), likely, max(out[1], likely)

    def change_for(self, at: int, margins: FloatArray, *, weights: FloatArray, level: float) -> float:
        """Return the depth at which the chance of quiet passes a level, deeper or lighter.

        Parameters
        ----------
        at
            Number of the speed.
        margins, weights
            Margin of every draw of the cut at that speed, and its weight, shape (count,).
        level
            The level.

        Returns
        -------
        float
            Depth [m]; inf where deeper cuts never fall below the level, 0 where no lighter one reaches it.
        """
        factor = math.exp(_shift_for(np.log(margins), weights, level=level))
        ratio = self.ratio(at)
        if factor <= 1.0:
            return self.first(ratio, factor, start=self.here)
        above = np.flatnonzero(ratio[: self.here] >= factor)
        return self.first(ratio, factor, start=int(above[-1])) if above.size else 0.0

    def first(self, values: FloatArray, level: float = 1.0, *, start: int = 0) -> float:
        """Return the least depth at which values fall below a level, inf where they never do."""
        below = np.flatnonzero(values[start:] < level)
        if not below.size:
            return float("inf")
        at = start + int(below[0])
        if at == start:
            return float(self.depths[start])
        high, low = np.log(values[at - 1 : at + 1] / level)
        ends = np.log(self.depths[at - 1 : at + 1])
        return float(np.exp(ends[0] + (ends[1] - ends[0]) * high / (high - low)))


def _shift_for(score: FloatArray, weights: FloatArray, *, level: float) -> float:
    """Return what must be added to the logarithm of every margin to bring the chance of quiet to a level.

    Newton's steps from a quantile, halving where they leave the bracket; SciPy's root finder costs nearly as
    much to import as all this to compute.
    """
    low, high = -_FAR, _FAR
    x = min(max(-weighted_quantile(score, weights, share=1.0 - level), low), high)
    for _ in range(_STEPS):
        at = (score + x) / SCATTER
        off = float(weights @ share_below(at)) - level
        low, high = (x, high) if off < 0.0 else (low, x)
        slope = float(weights @ np.exp(-0.5 * at * at)) / (SCATTER * math.sqrt(2.0 * math.pi))
        new = x - off / slope if slope > 0.0 else math.inf
        new = new if low <= new <= high else 0.5 * (low + high)
        if abs(new - x) < _CLOSE:
            return new
        x = new
    return x
