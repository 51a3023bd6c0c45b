"""The band of the margin without rubbing: bands of force, loss and grip, sampled on modal models."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from stickout.fem.beam.centres import end_band
from stickout.fem.beam.work import work_model
from stickout.fem.chatter.chart import chart_of
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import Limit, absolute_limit
from stickout.fem.chatter.uncertainty import GRIP_BAND, between_levels, sample_factors, sampled_values, spread
from stickout.fem.cut.absorber import DAMPING, DAMPING_BAND, TUNING, TUNING_BAND, off_tune
from stickout.fem.cut.models import coarse_model, joined, matched, softened, trimmed
from stickout.fem.cut.usual_edge import ANGLE, NOSE, edge_bands, edge_factors
from stickout.fem.force.case import CutCase
from stickout.fem.setup.bands import USER_SOURCE, FactorBand, Spread, exactly
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_at_end
from stickout.fem.setup.usual_ends import usual_at_end
from stickout.fem.study.clamped_loss import ClampedLoss
from stickout.meshes.tagged import FloatArray, IntArray

FORCE, LOSS, GRIP = "force coefficient", "loss", "grip stiffness"
# A perfect grip against a real one: the note is up to 30 % lower, hence 0.7^(3/2) of the stiffness.
PERFECT_BAND = FactorBand(GRIP, 0.6, 1.0)
SAMPLES = 240
# Depth below which no limit is looked for [m]: a hundredth of the lightest cut that anybody dials in.
SHALLOWEST = 1e-6


@dataclass(frozen=True)
class CutSpread:
    """Bands of the inputs, and what they make of the margin [-]."""

    bands: Mapping[str, FactorBand]
    margin: Spread


def input_bands(setup: Setup, case: CutCase, *, loss: ClampedLoss, mode: int) -> dict[str, FactorBand]:
    """Return the bands of force, loss, grip and absorber as factors of their likely values.

    Parameters
    ----------
    setup
        The set-up.
    case
        The cut.
    loss
        The loss factors.
    mode
        Index of the limiting mode in the result, whose loss counts.
    """
    likely = float(loss.loss.likely[mode])
    ends = (float(loss.loss.low[mode]) / likely, float(loss.loss.high[mode]) / likely)
    bands = {
        FORCE: FactorBand(FORCE, *case.push_band),
        LOSS: FactorBand(LOSS, max(min(ends[0], 1.0), 1e-6), max(ends[1], 1.0)),
        GRIP: grip_band(setup),
    } | edge_bands(setup.usual)
    return bands if setup.absorber is None else bands | {TUNING: TUNING_BAND, DAMPING: DAMPING_BAND}


def grip_band(setup: Setup) -> FactorBand:
    """Return the band of the grip: of its faces, as assumed or as given, or of a perfect grip."""
    joint = setup.grip.springs
    if setup.grip.at_both_ends:
        low, high = end_band(setup) or (GRIP_BAND.low, GRIP_BAND.high)
        return FactorBand(GRIP, low, high)
    if joint is None:
        return PERFECT_BAND
    faces = joint.normal_n_per_um_mm2
    if faces.source == USER_SOURCE:
        return FactorBand(GRIP, GRIP_BAND.low, GRIP_BAND.high)
    return FactorBand(GRIP, faces.low / faces.likely, faces.high / faces.likely)


def grip_levels(
    setup: Setup,
    tool: ModalModel,
    *,
    base: ModalModel | None,
    band: FactorBand,
    solve: Callable[[Setup], ModalModel] = coarse_model,
) -> dict[float, ModalModel]:
    """Return modal models of the tool at the ends of the grip's band and at its likely stiffness.

    Parameters
    ----------
    setup
        The set-up.
    tool
        The tool as it is.
    base
        The tool as it is from its coarsest mesh; None where the grip has no faces to change.
    band
        FactorBand of the grip's stiffness.
    solve
        Gives the modal model of the set-up at an end, in the same way as ``base``.

    Returns
    -------
    dict
        Factor of the grip's stiffness -> modal model. One coarse FE solve for each end; what the coarse
        mesh misses is made good by its error at the likely stiffness. What nobody measured of a post is soft
        where the grip is soft.

    Source
    ------
    Own way (computed here).
    """
    if base is None:
        return {band.low: softened(tool, band.low), 1.0: tool}
    ends = {f: solve(with_grip(setup, f)) for f in (band.low, band.high) if f != 1.0}
    return {f: matched(m, base, tool=tool) for f, m in ends.items()} | {1.0: tool}


def with_grip(setup: Setup, factor: float) -> Setup:
    """Return the set-up with a grip softer or stiffer by a factor, its post at the same end of its bands.

    So are the sizes of the holder that were taken as usual.

    Where the grip has faces they are changed; a perfect one under a post passes its factor on to the bar.

    Source
    ------
    The bar as ``stickout.fem.cut.models.softened`` takes it: modulus by the factor, density so that the note
    falls by its power two thirds (computed here).
    """
    side = "low" if factor < 1.0 else "high"
    held = post_at_end(setup, side)
    if setup.grip.springs is not None or setup.grip.at_both_ends:
        held = held if factor == 1.0 else usual_at_end(held, side)
        return replace(held, grip=held.grip.scaled(factor))
    if setup.post is None:
        return setup
    bar = setup.bar_material
    young, density = bar.youngs_modulus, bar.density
    softer = replace(
        bar,
        youngs_modulus=exactly(factor * young.likely, young.source),
        density=exactly(factor ** (-1.0 / 3.0) * density.likely, density.source),
    )
    return replace(held, materials={**setup.materials, "bar": softer})


def with_work(
    levels: Mapping[float, ModalModel], setup: Setup, *, work: ModalModel | None
) -> dict[float, ModalModel]:
    """Return the levels with the work beside the tool; where the grip is softest or stiffest, so is its hold.

    Parameters
    ----------
    levels
        Factor of the grip's stiffness -> modal model of the tool.
    setup
        The set-up.
    work
        Modal model of its work as it likely is held; None without one.
    """
    if work is None:
        return dict(levels)
    loss = float(work.eta[0])
    ends = {min(levels): "low", max(levels): "high", 1.0: "likely"}
    return {
        factor: joined(model, work if side == "likely" else work_model(setup, loss=loss, side=side))
        for factor, model in levels.items()
        for side in (ends[factor],)
    }


def cut_spread(
    case: CutCase,
    levels: Mapping[float, ModalModel],
    *,
    limit: Limit,
    bands: Mapping[str, FactorBand],
) -> CutSpread:
    """Return the band of the margin without rubbing.

    Parameters
    ----------
    case
        The cut.
    levels
        Factor of the grip's stiffness -> modal model of tool and work.
    limit
        The limit at the likely inputs.
    bands
        Bands of the inputs.

    Returns
    -------
    CutSpread
        Low, likely, high: nine times in ten between them.

    Source
    ------
    Own sampling with a fixed seed, see stickout.fem.chatter.uncertainty (computed here).
    """
    factors = sample_factors(list(bands.values()), count=SAMPLES)
    few = {f: trimmed(model, limit) for f, model in levels.items()}
    sampled = _charted if TUNING not in factors else _solved
    margins = sampled(case, few, factors=factors)
    edges = {name: band for name, band in bands.items() if name in (NOSE, ANGLE)}
    if edges:
        margins = margins * edge_factors(case, few[1.0], bands=edges, factors=factors, speed=None)
    return CutSpread(bands, spread(margins, float(limit.margin), factors=factors))


def _charted(
    case: CutCase, levels: Mapping[float, ModalModel], *, factors: Mapping[str, FloatArray]
) -> FloatArray:
    """Return the margin of every sample, read off a chart of each level."""
    loss = factors[LOSS]
    charts = {factor: chart_of(model, case.stiffness, loss=loss) for factor, model in levels.items()}

    def read(factor: float, which: IntArray) -> FloatArray:
        return charts[factor].margins(loss[which]) / factors[FORCE][which]

    return between_levels(list(levels), read, grip=factors[GRIP])


def _solved(
    case: CutCase, levels: Mapping[float, ModalModel], *, factors: Mapping[str, FloatArray]
) -> FloatArray:
    """Return the margin of every sample, each solved: an absorber's bands differ between them."""

    def vary(model: ModalModel, which: IntArray) -> ModalModel:
        return off_tune(model, tuning=factors[TUNING][which], damping=factors[DAMPING][which])

    def evaluate(model: ModalModel, push: FloatArray) -> FloatArray:
        return absolute_limit(model, case.stiffness).margin / push

    loss, grip = factors[LOSS], factors[GRIP]
    return sampled_values(levels, evaluate, force=factors[FORCE], loss=loss, grip=grip, vary=vary)
