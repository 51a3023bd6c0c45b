"""Likely margins of a cut over its depth, with the rubbing of the flank at each speed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.depth import depth_scan
from stickout.fem.cut.draws import chance
from stickout.fem.cut.flank import flank_of_depth
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.speed_margins import SpeedMargins
from stickout.fem.cut.spread import SHALLOWEST
from stickout.fem.halving import halved
from stickout.meshes.tagged import FloatArray

# Margins are looked at up to this far from the cut's own, in the logarithm.
_FAR: Final = 30.0
_HALVINGS: Final = 20  # to 1e-4; SciPy's root finder costs nearly as much to import as all this to compute
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
    """Likely margins of a cut over its depth, at every speed."""

    def __init__(self, likely: LikelyLimit, found: SpeedMargins) -> None:
        """Solve the margins at depths from the shallowest to the deepest."""
        case, model = self.case, self.model = likely.case, likely.both
        flank_at, speeds = flank_of_depth(case), found.speeds.cutting[:, None, None]
        depths = np.unique(np.append(np.geomspace(SHALLOWEST, likely.deepest, _SCAN), case.depth))
        scan = depth_scan(
            model, case.matrix, depths=depths, flank_of_depth=lambda depth: flank_at(depth) / speeds
        )
        self.depths, self.margin, self.limit = scan.depths, scan.margin, scan.limit
        self.here = int(np.searchsorted(self.depths, case.depth))

    def ratio(self, at: int) -> FloatArray:
        """Return the margin at each depth over that of the cut, at one speed."""
        return np.asarray(np.minimum(self.margin[:, at], _CAP) / min(self.margin[self.here, at], _CAP))

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
        # The factor on every margin that would bring the chance to the level.
        ends = halved(
            lambda x: chance(margins * math.exp(x), weights) < level, (-_FAR, _FAR), times=_HALVINGS
        )
        factor = math.exp(0.5 * sum(ends))
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
