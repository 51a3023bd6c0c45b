"""Margins of drawn inputs at any cutting speed, read off charts of the damped stability equation."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import numpy as np

from stickout.fem.bell import share_below
from stickout.fem.chatter.changed import picked
from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import limit_on_grid
from stickout.fem.chatter.uncertainty import between_levels, sample_factors, stratified
from stickout.fem.chatter.valleys import frequency_grid
from stickout.fem.cut.audible import audible
from stickout.fem.cut.flank import clearance, flank_of
from stickout.fem.cut.usual_edge import edge_factors, still_usual
from stickout.fem.force.case import CutCase
from stickout.fem.force.push import force_share
from stickout.fem.setup.bands import FactorBand
from stickout.meshes.tagged import FloatArray, IntArray

FORCE, LOSS, GRIP, THRUST, WAVE = (
    "force coefficient",
    "loss",
    "grip stiffness",
    "thrust over cutting force",
    "rubbing of the flank",
)
# Scatter of what was heard in cuts that were alike, in ln s (computed from 91 labelled cuts).
SCATTER: Final = 0.3
DRAWS: Final = 1000
# A band from low to high holds some nine tenths of a bell curve: +- 1.57 of its widths.
_BAND_WIDTHS: Final = 3.14
_LOSSES, _RUBS = 5, 12
_CAP: Final = 1e3
_ROUNDS: Final = 1
# What a usual edge does changes slowly over the speed: it is computed at speeds apart by this factor.
_APART: Final = 2.0
_NONE: Final[Mapping[str, FactorBand]] = MappingProxyType({})


def drawn_factors(bands: Mapping[str, FactorBand]) -> dict[str, FloatArray]:
    """Return factors of every input: bells in the logarithm for loss and rubbing, triangles for the rest.

    Source
    ------
    Latin hypercube: McKay, Beckman & Conover 1979 (recalled, not opened); fixed seed.
    """
    flat = [bands[name] for name in bands if name not in (LOSS, WAVE)]
    out = sample_factors(flat, count=DRAWS)
    for name, bell in zip((LOSS, WAVE), stratified(2, count=DRAWS, inputs=2), strict=True):
        width = np.log(bands[name].high / bands[name].low) / _BAND_WIDTHS
        out[name] = np.exp(width * bell)
    return out


def with_push(factors: Mapping[str, FloatArray], case: CutCase) -> dict[str, FloatArray]:
    """Return drawn factors whose force times thrust is the push as it was measured; as they are without one.

    Source
    ------
    Conditioning of drawn samples on a sum: Matheron, after Chilès & Delfiner (recalled, not opened).
    """
    push = case.cut.push
    if push is None:
        return dict(factors)
    share = force_share(case.material)
    bell = stratified(4, count=len(factors[FORCE]), inputs=1)[0]
    seen = np.exp(np.log(push.high / push.low) / _BAND_WIDTHS * bell)
    off = seen / (factors[FORCE] * factors[THRUST])
    changed = {FORCE: factors[FORCE] * off**share, THRUST: factors[THRUST] * off ** (1.0 - share)}
    return {**factors, **changed}


@dataclass(frozen=True)
class DrawnCut:
    """A cut on models of a tool, charted when first asked for.

    Attributes
    ----------
    case
        The cut.
    levels
        Factor of the grip's stiffness -> modal model of tool and work.
    factors
        Input -> drawn factors, shape (count,).
    loss, thrust, rub
        Knots: factors of the loss and of the thrust (in logarithms), rubbing over speed [s/m].
    kept
        What was charted before: level and modes that can be heard -> shape (count, k).
    usual
        Bands of those numbers of the edge that were taken as usual.
    edges
        What they do, as computed before: number of a speed -> logarithm of each draw's factor, (count,).
    """

    case: CutCase
    levels: Mapping[float, ModalModel]
    factors: Mapping[str, FloatArray]
    loss: FloatArray
    thrust: FloatArray
    rub: FloatArray
    kept: dict[tuple[float, bytes], FloatArray] = field(default_factory=dict, compare=False, repr=False)
    usual: Mapping[str, FactorBand] = field(default_factory=lambda: _NONE)
    edges: dict[int, FloatArray] = field(default_factory=dict, compare=False, repr=False)

    def margins(self, speed: float) -> FloatArray:
        """Return the margin of every draw at a cutting speed [m/s], shape (count,): of what can be heard."""
        rub = self.factors[WAVE] * self.factors[FORCE] * self.factors[THRUST] / speed
        low, share = _place(rub, self.rub)

        def read(level: float, which: IntArray) -> FloatArray:
            over, at, part = self._over_rubbing(level, speed), low[which], share[which]
            margin = over[which, at] * (1 - part) + over[which, at + 1] * part
            return np.asarray(margin / self.factors[FORCE][which])

        margins = between_levels(list(self.levels), read, grip=self.factors[GRIP])
        return np.asarray(margins * self._of_edge(speed)) if self.usual else margins

    def _of_edge(self, speed: float) -> FloatArray:
        """Return what a usual edge makes of the margin of every draw: a factor, shape (count,)."""
        place = math.log(speed) / math.log(_APART)
        at, share = math.floor(place), place - math.floor(place)
        return np.asarray(np.exp((1 - share) * self._edge(at) + share * self._edge(at + 1)))

    def _edge(self, at: int) -> FloatArray:
        """Return the logarithm of those factors at one of the speeds that are apart."""
        if at not in self.edges:
            found = edge_factors(
                self.case, self.levels[1.0], bands=self.usual, factors=self.factors, speed=_APART**at
            )
            self.edges[at] = np.log(found)
        return self.edges[at]

    def at_likely_grip(self) -> DrawnCut:
        """Return the same with the grip as it likely is in every draw."""
        return replace(self, levels={1.0: self.levels[1.0]})

    def _over_rubbing(self, level: float, speed: float) -> FloatArray:
        """Return the chart of a level at the loss and the thrust of every draw, shape (count, k)."""
        model = self.levels[level]
        heard = audible(model, speed=speed, clearance=clearance(self.case).likely)
        key = (level, heard.tobytes())
        if key not in self.kept:
            self.kept[key] = self._drawn(self._chart(model if heard.all() else picked(model, heard)))
        return self.kept[key]

    def _drawn(self, chart: FloatArray) -> FloatArray:
        """Return a chart at the loss and the thrust of every draw."""
        (at, a), (to, b) = (
            _place(self.factors[LOSS], self.loss),
            _place(np.log(self.factors[THRUST]), self.thrust),
        )
        a, b = a[:, None], b[:, None]
        below = (1 - b) * chart[at, to] + b * chart[at, to + 1]
        above = (1 - b) * chart[at + 1, to] + b * chart[at + 1, to + 1]
        return np.asarray((1 - a) * below + a * above)

    def _chart(self, model: ModalModel) -> FloatArray:
        """Return margins over loss, thrust and rubbing, shape (n, m, k)."""
        matrices = thrust_matrices(self.case, np.exp(self.thrust))
        flanks = self.rub[:, None, None] * flank_of(self.case)
        batch = replace(model, eta=model.eta * self.loss[:, None, None, None])
        grid = frequency_grid(batch, felt_directions(matrices), per_mode=24)
        found = limit_on_grid(
            batch, matrices[None, :, None], grid=grid, rounds=_ROUNDS, flank=flanks[None, None]
        )
        return np.asarray(np.minimum(found.margin, _CAP))


def _place(value: FloatArray, knots: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return the knot below each value and the share of the way to the next."""
    place = np.interp(value, knots, np.arange(len(knots), dtype=float))
    low = np.minimum(place.astype(np.int64), len(knots) - 2)
    return low, place - low


def drawn_cut(
    case: CutCase,
    levels: Mapping[float, ModalModel],
    *,
    factors: Mapping[str, FloatArray],
    speeds: tuple[float, float],
    usual: Mapping[str, FactorBand] = _NONE,
) -> DrawnCut:
    """Return a cut with drawn inputs.

    Parameters
    ----------
    case
        The cut.
    levels
        Factor of the grip's stiffness -> modal model of tool and work.
    factors
        Drawn factors.
    speeds
        Slowest and fastest cutting speed that will be asked for [m/s].
    usual
        Bands of the edge's numbers that were taken as usual; their factors are drawn too.

    Source
    ------
    The margin of (u A, y C) is that of (A, y C) over u: three axes hold everything but the grip (computed
    here).
    """
    ends = [factors[LOSS].min(), factors[LOSS].max() * (1 + 1e-9)]
    loss = np.linspace(ends[0], ends[1], _LOSSES)
    thrust = np.log(np.array([factors[THRUST].min() * (1 - 1e-9), 1.0, factors[THRUST].max() * (1 + 1e-9)]))
    rub = np.append(0.0, np.geomspace(0.05 / speeds[1], 8.0 / speeds[0], _RUBS))
    return DrawnCut(case, levels, factors, loss, thrust, rub, usual=usual)


def thrust_matrices(case: CutCase, thrust: FloatArray) -> FloatArray:
    """Return the dynamic stiffness of a cut whose thrust is changed by factors [N/m], shape (n, 3, 3)."""
    turn = case.directions.rotation
    scale = thrust[:, None] ** np.array([1.0, 0.0, 1.0])
    # The thrust is what the force model gives before a direction of the user's turns it.
    inner = turn @ (case.turn.T @ case.stiffness) @ turn.T
    return np.asarray(case.turn @ (turn.T @ (scale[:, :, None] * inner) @ turn))


@dataclass(frozen=True)
class Draws:
    """A cut with drawn inputs, and the weights that heard cuts left them, shape (count,)."""

    drawn: DrawnCut
    weights: FloatArray

    def chance(self, speed: float) -> float:
        """Return the chance that the cut stays quiet at a cutting speed [m/s]."""
        return chance(self.drawn.margins(speed), self.weights)

    def chance_of(self, case: CutCase, model: ModalModel, *, speed: float, fix: float = 1.0) -> float:
        """Return the chance that another cut on another model stays quiet, its grip as unsure as this one's.

        Parameters
        ----------
        case
            The other cut.
        model
            The other model of tool and work, at the likely stiffness of its grip.
        speed
            Cutting speed [m/s].
        fix
            Factor of its margins: what its mesh misses [-].
        """
        own = self.drawn
        usual = still_usual(own.usual, case=own.case, changed=case)
        one = drawn_cut(case, {1.0: model}, factors=own.factors, speeds=(speed, speed), usual=usual)
        grip = own.margins(speed) / own.at_likely_grip().margins(speed)
        return chance(one.margins(speed) * grip * fix, self.weights)


def chance(margins: FloatArray, weights: FloatArray) -> float:
    """Return the chance that a cut stays quiet: weighted probit of ln s over the scatter."""
    return float(weights @ share_below(np.log(margins) / SCATTER))


def weighted_quantile(values: FloatArray, weights: FloatArray, *, share: float) -> float:
    """Return the value below which a share of the weight lies."""
    order = np.argsort(values)
    return float(values[order][np.searchsorted(np.cumsum(weights[order]), share).clip(max=len(values) - 1)])
