"""Spring passes: what comes off when a setting is run again tells how far the first pass was pushed away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bench.margins import Unheard
from stickout.fem.bench.poles import FloatArray
from stickout.fem.force.case import CutCase, case_of

READING: Final = 5e-6  # of a diameter, where nothing is said: a micrometer or a bore gauge, not callipers
MOST_PASSES: Final = 5
_BITE: Final = 3e-6  # of a diameter: an edge stops biting before the spring is used up
_MODEL: Final = 0.015  # of the tool's compliance, by its mesh
_STEPS: Final = 33


@dataclass(frozen=True)
class SpringPass:
    """A pass, and one or more at the same setting after it.

    Attributes
    ----------
    came_off
        What the spring passes took off, on the diameter [m].
    passes
        Number of spring passes.
    reading
        Standard deviation of one reading of a diameter [m].
    depth_mm, feed_mm, overhang_mm
        Depth that was set, feed and overhang, where they differed from the set-up's.
    """

    came_off: float
    passes: int = 1
    reading: float = READING
    depth_mm: float | None = None
    feed_mm: float | None = None
    overhang_mm: float | None = None

    @property
    def sd(self) -> float:
        """Return the standard deviation of what came off [m]: two readings, and the edge's last bite."""
        return float(np.hypot(np.sqrt(2.0) * self.reading, _BITE))


def predicted_came_off(one: SpringPass, case: CutCase, *, static: FloatArray, unheard: Unheard) -> FloatArray:
    """Return what spring passes take off the diameter for every draw [m].

    Each pass cuts what the one before left: ``a + c F(a) = left``, so with a force in proportion to the depth
    each leaves ``cK / (1 + cK)`` of what it found. The surface before the first pass was itself sprung out.

    Parameters
    ----------
    one
        The passes.
    case
        The cut of the set-up.
    static
        Compliance of the edge in the bar frame, tool and work, shape (n, 3, 3) [m/N].
    unheard
        As many draws of the cut.

    Returns
    -------
    ndarray
        Shape (n,).

    Source
    ------
    Statics of a pass (computed here); force and its slope are bound by the exponent of the force law.
    """
    base = case.cut
    other = case_of(
        replace(base, depth_mm=one.depth_mm or base.depth_mm, feed_mm=one.feed_mm or base.feed_mm)
    )
    depths = other.depth * np.linspace(0.0, 1.0, _STEPS)
    loads = np.stack([np.zeros(3), *(other.force_at(float(a)) for a in depths[1:])])
    away = _pushed(other, loads, static=static, unheard=unheard) * _over_slope(other, case, unheard)
    total = np.maximum.accumulate(depths + away, axis=1)
    found = np.full(len(away), other.depth)
    left = [found := _left(total, away, found) for _ in range(one.passes + 1)]
    return 2.0 * (left[0] - left[-1])


def _pushed(case: CutCase, loads: FloatArray, *, static: FloatArray, unheard: Unheard) -> FloatArray:
    """Return how far the forces of several depths push edge and work apart, shape (n, depths)."""
    turn, own = case.turn, case.directions.rotation
    scale = unheard.force[:, None] * unheard.thrust[:, None] ** np.array([1.0, 0.0, 1.0])
    inner = loads @ turn @ own.T  # passive, cutting, feed
    scaled = scale[:, None, :] * inner
    pushed = scaled @ own @ turn.T
    radial = -own[0]  # the work is pushed along the passive direction, the tool against it
    tool = np.einsum("i,nij,naj->na", radial, static, pushed)
    return np.asarray(tool + unheard.give[:, None] * (pushed @ radial))


def _over_slope(case: CutCase, own: CutCase, unheard: Unheard) -> FloatArray:
    """Return the factor of the force where its slope at the set-up's chip is as drawn, shape (n, 1).

    A force ``h^q`` has the slope ``q F / h``: for one slope a smaller q means more force, and less of a rise
    with the feed.
    """
    q = 1.0 - own.law.mc
    chip = case.edge.mean_chip / own.edge.mean_chip
    return np.asarray(chip ** (q * (unheard.steep - 1.0)) / unheard.steep)[:, None]


def _left(total: FloatArray, away: FloatArray, found: FloatArray) -> FloatArray:
    """Return what a pass leaves of what it finds; ``total`` is the depth cut and what it leaves."""
    at = np.clip((total < found[:, None]).sum(axis=1) - 1, 0, total.shape[1] - 2)
    rows = np.arange(len(found))
    before, after = total[rows, at], total[rows, at + 1]
    share = (found - before) / np.maximum(after - before, 1e-15)
    return np.asarray(away[rows, at] * (1.0 - share) + away[rows, at + 1] * share)


def after_springing(
    passes: Sequence[SpringPass], case: CutCase, *, statics: Sequence[FloatArray], unheard: Unheard
) -> tuple[FloatArray, str | None]:
    """Return the weights of draws after spring passes, and what does not fit.

    Parameters
    ----------
    passes
        The passes.
    case
        The cut of the set-up.
    statics
        Compliance of the edge for each of the passes, as ``predicted_came_off`` takes it.
    unheard
        As many draws of the cut.

    Returns
    -------
    ndarray, str or None
        Weights, shape (n,); words of mechanics where more or less came off than any draw says.

    Source
    ------
    Bayes on the draws, normal errors (computed here).
    """
    logs, why = np.zeros(len(unheard.force)), None
    for one, static in zip(passes, statics, strict=True):
        told = predicted_came_off(one, case, static=static, unheard=unheard)
        apart, middle = told - one.came_off, float(np.median(told))
        sd = np.hypot(one.sd, _MODEL * told)
        logs -= 0.5 * (apart / sd) ** 2
        if abs(middle - one.came_off) > 3.0 * float(np.hypot(told.std(), np.median(sd))):
            way = "more" if one.came_off > middle else "less"
            why = f"the spring passes took off {way} than any force of this material explains: {_WHY[way]}"
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum()), why


_WHY: Final = {
    "more": "something gives that the model holds still (post, slides, chuck, part), or the edge is worn",
    "less": "a diameter was read wrong, or the first pass began on a surface that was not sprung out",
}
