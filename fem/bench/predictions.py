"""What follows from samples of a tool: note, spring, and the margin of its cut, at each speed and at any."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from stickout.fem.beam.work import work_model
from stickout.fem.bell import share_below
from stickout.fem.bench.margins import GIVE, GIVE_BESIDE_POST, Unheard, drawn_unheard, sampled_margins
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.posterior import MODEL_SD, Drawn, even_picks
from stickout.fem.bench.shares import spread_shares
from stickout.fem.bench.springing import SpringPass, after_springing
from stickout.fem.chatter.low_speed import cutting_speed
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.compare.measures import Samples, sampled_measures
from stickout.fem.compare.reduced import Reduced, held_still
from stickout.fem.cut.draws import SCATTER
from stickout.fem.cut.heard import near_a_mode, reweighted
from stickout.fem.cut.models import joined
from stickout.fem.cut.speed_margins import cut_speeds
from stickout.fem.force.case import CutCase, case_of
from stickout.fem.force.loading import loading
from stickout.fem.setup.bands import MEASURED, NINE_IN_TEN, Band
from stickout.fem.setup.parts import HeardCut, Setup
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.fem.units import MM
from stickout.meshes.tagged import IntArray

SEED: Final = 20261127
SOURCE: Final = f"{MEASURED}: fitted to taps and pulls"


@dataclass(frozen=True)
class SpeedMargin:
    """The margin at one speed, the rubbing of the flank in it, and the chance that the cut stays quiet.

    ``rpm`` is None where the diameter of the work is not known; cutting speed in [m/s].
    """

    rpm: float | None
    cutting_speed: float
    margin: Band
    p_quiet: float


@dataclass(frozen=True)
class Predictions:
    """90 % intervals of what follows.

    Attributes
    ----------
    frequency_hz, compliance_along
        Natural frequency [Hz], compliance along the force [m/N].
    margin
        Margin at the worst of the speeds, rubbing counted; None where no cut is described.
    margin_without_rubbing
        Margin at any speed, rubbing left out.
    tool
        The tool's own part of that, k times zeta along the force [N/m]: all that a tap can tell of it.
    speeds
        One for each speed.
    shares, shares_without_rubbing
        Unknown -> its share of the spread of the two margins, see ``stickout.fem.bench.shares``.
    """

    frequency_hz: Band
    compliance_along: Band
    margin: Band | None = None
    margin_without_rubbing: Band | None = None
    tool: Band | None = None
    speeds: tuple[SpeedMargin, ...] = ()
    shares: Mapping[str, float] = field(default_factory=dict)
    shares_without_rubbing: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Pool:
    """Equally likely samples of tool and cut together.

    Attributes
    ----------
    drawn
        Samples of the tool.
    unheard
        What a tap cannot tell, as many draws; None where no cut is described.
    """

    drawn: Drawn
    unheard: Unheard | None

    def picked(self, at: IntArray) -> Pool:
        """Return some of the samples."""
        one = self.drawn
        values = {key: value[at] for key, value in one.values.items()}
        scale, loss = (None if x is None else x[at] for x in (one.scale, one.loss))
        drawn = replace(one, values=values, scale=scale, loss=loss)
        return Pool(drawn, None if self.unheard is None else self.unheard.picked(at))


def pooled(drawn: Drawn, case: CutCase | None) -> Pool:
    """Return samples of a tool with what a tap cannot tell of its cut drawn beside them."""
    if case is None:
        return Pool(drawn, None)
    n = len(next(iter(drawn.values.values())))
    rides = any(one.stiffness == (CARRIER,) for one in drawn.inputs)
    unheard = drawn_unheard(case, give=GIVE_BESIDE_POST if rides else GIVE)
    return Pool(drawn, unheard.picked(np.arange(n)))


def interval(values: FloatArray) -> Band:
    """Return the 90 % interval of equally likely values."""
    low, middle, high = (float(one) for one in np.quantile(values, [NINE_IN_TEN[0], 0.5, NINE_IN_TEN[1]]))
    return Band(low, middle, high, SOURCE)


@dataclass(frozen=True)
class Judged:
    """Margins of a pool at the speeds of its cut, shape (n,) each, ``dry`` without rubbing; its measures.

    ``tools`` are the models of tool and work of all samples.
    """

    pool: Pool
    found: Mapping[str, FloatArray]
    tools: ModalModel
    rubbed: Sequence[FloatArray]
    dry: FloatArray

    @property
    def worst(self) -> int:
        """Return the index of the speed with the least margin."""
        return int(np.argmin([np.median(one) for one in self.rubbed]))


def judged(pool: Pool, model: Reduced, *, target: Setup, case: CutCase) -> Judged:
    """Return the margins of every sample of a pool."""
    unheard = pool.unheard or drawn_unheard(case)
    samples = measured(pool, model, target=target)
    tools = beside_work(samples.tool, target)
    speeds = cut_speeds(case.cut).cutting.tolist()
    rubbed = [sampled_margins(tools, case, unheard=unheard, speed=one) for one in speeds]
    dry = sampled_margins(tools, case, unheard=unheard)
    return Judged(pool, samples.values, tools, rubbed, dry)


def measured(pool: Pool, model: Reduced, *, target: Setup) -> Samples:
    """Return note, spring and damping of every sample, and its modes."""
    force, drawn = loading(target.cut).direction, pool.drawn
    return sampled_measures(model, drawn.inputs, drawn=drawn.values, force=force)


def beside_work(tools: ModalModel, setup: Setup) -> ModalModel:
    """Return the models of tools with the likely work of a set-up beside them."""
    return joined(tools, None if setup.work is None else work_model(setup, loss=CLAMPED.likely))


def predictions(
    pool: Pool, model: Reduced, *, target: Setup, margins: Judged | None, sure: bool = False
) -> Predictions:
    """Return the intervals of a pool; where the note itself was heard (``sure``) the model adds no error."""
    found = measured(pool, model, target=target).values if margins is None else margins.found
    noise = np.exp(MODEL_SD * np.random.default_rng(SEED).standard_normal(len(found["note_hz"])))
    if CARRIER in model.stiffness:  # the tool's own note, which a tap rings, not that of the post under it
        found = {**found, "note_hz": measured(pool, held_still(model), target=target).values["note_hz"]}
    note = interval(found["note_hz"] * (1.0 if sure else noise))
    spring = interval(found["spring_m_per_n"] * noise**2)
    if margins is None or target.cut is None:
        return Predictions(note, spring)
    asked = cut_speeds(target.cut)
    speeds = tuple(
        SpeedMargin(rpm, float(speed), interval(one), float(share_below(np.log(one) / SCATTER).mean()))
        for rpm, speed, one in zip(asked.rpm, asked.cutting, margins.rubbed, strict=True)
    )
    worst, dry = speeds[margins.worst].margin, interval(margins.dry)
    tool = margins.found["k_zeta_n_per_m"]
    unheard = pool.unheard or drawn_unheard(case_of(target.cut))
    told = [spread_shares(one, tool, unheard=unheard) for one in (margins.rubbed[margins.worst], margins.dry)]
    return Predictions(note, spring, worst, dry, interval(tool), speeds, *told)


def after_hearing(
    pool: Pool,
    models: Mapping[float | None, Reduced],
    *,
    setup: Setup,
    case: CutCase,
    cuts: Sequence[HeardCut],
) -> Pool:
    """Return the samples that cuts which were made and heard leave.

    Parameters
    ----------
    pool
        The samples before.
    models
        Reduced models by overhang [m]; None is the set-up's own.
    setup
        The set-up.
    case
        Its cut.
    cuts
        The cuts heard; they count where the diameter of the work is known.

    Source
    ------
    ``stickout.fem.cut.heard`` (computed here).
    """
    diameter = case.cut.work_diameter_mm
    if diameter is None or pool.unheard is None:
        return pool
    n = len(pool.unheard.force)
    weights = np.full(n, 1.0 / n)
    for one in cuts:
        depth, feed = one.depth_mm or case.cut.depth_mm, one.feed_mm or case.cut.feed_mm
        other = case_of(replace(case.cut, depth_mm=depth, feed_mm=feed))
        samples = measured(pool, models[overhang_of(one, setup)], target=setup)
        tools = beside_work(samples.tool, setup)
        if not near_a_mode(tools, one.pitch_hz):
            continue  # it sang elsewhere: evidence against the model, not for a number
        speed = cutting_speed(diameter * MM, one.rpm)
        margins = sampled_margins(tools, other, unheard=pool.unheard, speed=speed)
        weights = reweighted(weights, margins, quiet=one.heard == "quiet")
    if np.ptp(weights) == 0.0:
        return pool
    return pool.picked(even_picks(weights, count=n))


def after_passes(
    pool: Pool,
    models: Mapping[float | None, Reduced],
    *,
    setup: Setup,
    case: CutCase,
    passes: Sequence[SpringPass],
) -> tuple[Pool, str | None]:
    """Return the samples that spring passes leave, and in words what does not fit.

    Parameters
    ----------
    pool
        The samples before.
    models
        Reduced models by overhang [m]; None is the set-up's own.
    setup
        The set-up.
    case
        Its cut.
    passes
        The passes.

    Source
    ------
    ``stickout.fem.bench.springing`` (computed here); samples are drawn anew at even steps of their weight.
    """
    if pool.unheard is None or not passes:
        return pool, None
    at = [overhang_of(one, setup) for one in passes]
    tools = {key: beside_work(measured(pool, models[key], target=setup).tool, setup) for key in set(at)}
    statics = [tools[key].static for key in at]
    weights, why = after_springing(passes, case, statics=statics, unheard=pool.unheard)
    return pool.picked(even_picks(weights, count=len(weights))), why


def overhang_of(cut: HeardCut | SpringPass, setup: Setup) -> float | None:
    """Return the overhang at which a cut or a pass was made [m]; None where it is the set-up's own."""
    if cut.overhang_mm is None or cut.overhang_mm == setup.bar.overhang_mm:
        return None
    return 1e-3 * cut.overhang_mm
