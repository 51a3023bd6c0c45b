"""How sure a planned absorber is: its band, how far it may be off tune, what its place is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.absorber.plan import AbsorberPlan, effective_mass_ratio
from stickout.fem.chatter.absorber_best import chatter_best
from stickout.fem.chatter.absorber_theory import Pair, gain
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.chatter.uncertainty import sample_factors
from stickout.fem.cut.absorber import DAMPING, TUNING, TUNING_BAND, off_tune
from stickout.fem.cut.models import trimmed
from stickout.fem.setup.bands import NINE_IN_TEN, FactorBand
from stickout.fem.study.clamped_loss import clamped_loss
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

SOURCE: Final = "common practice, no source: what soft rings do before they are measured"
# Rings as bought: their loss is known within a factor of about three.
RINGS_BAND: Final = FactorBand(DAMPING, 0.5, 1.4)
LOSS: Final = "loss of the bar"
# A published test of a tuned damper in a bar gained about a hundredfold (Yadav et al. 2020, abstract opened).
CEILING: Final = 100.0
SAMPLES: Final = 240
KEPT: Final = 0.8
_OFF: Final = np.linspace(-0.3, 0.3, 121)
_SHARES: Final = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)
OFF_TOLD: Final = (-0.2, -0.1, 0.1, 0.2)


@dataclass(frozen=True)
class AbsorberBand:
    """What may become of a planned absorber.

    Attributes
    ----------
    bands
        Factors of the bar's loss, the tuning and the rings' damping that were drawn.
    gain
        Low, likely and high (nine times in ten between them) of how much larger the cut may grow [-].
    off
        Shares the absorber is off tune by, rising, shape (n,).
    gains
        Gain at each, at the likely damping, shape (n,).
    loose, stiff
        The same with the least and the most damping of the rings' band, shape (n,).
    window_hz
        Own frequencies between which at least 0.8 of the best gain is kept [Hz].
    places
        Distance from the holder face [mm], mass ratio and gain there by the one-mode theory, tuned anew.
    """

    bands: Sequence[FactorBand]
    gain: tuple[float, float, float]
    off: FloatArray
    gains: FloatArray
    loose: FloatArray
    stiff: FloatArray
    window_hz: tuple[float, float]
    places: Sequence[tuple[float, float, float]]

    def at(self, off: float) -> float:
        """Return the gain at a share off tune, between those tried."""
        return float(np.interp(off, self.off, self.gains))


def absorber_band(plan: AbsorberPlan) -> AbsorberBand:
    """Return the band of a plan's best absorber.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    AbsorberBand
        Bands are drawn as for a cut, with a fixed seed; the bar counts as known, since it is tapped first.

    Source
    ------
    Own sampling, see stickout.fem.chatter.uncertainty (computed here).
    """
    limit = absolute_limit(plan.bare, plan.matrix)
    model, bare = (trimmed(one, limit) for one in (plan.model, plan.bare))
    before = float(limit.margin)
    scale = plan.best.gain * before / float(absolute_limit(model, plan.matrix).margin)

    def gains(damping: float) -> FloatArray:
        batch = off_tune(model, tuning=1.0 + _OFF, damping=np.full(_OFF.size, damping))
        return np.asarray(absolute_limit(batch, plan.matrix).margin * scale / before)

    likely = gains(1.0)
    bands = [_loss_band(plan), TUNING_BAND, RINGS_BAND]
    drawn = sample_factors(bands, count=SAMPLES)
    loss = drawn[LOSS][:, None]
    batch = off_tune(model, tuning=drawn[TUNING], damping=drawn[DAMPING])
    with_it = absolute_limit(replace(batch, eta=model.eta * loss), plan.matrix).margin
    without = absolute_limit(replace(bare, eta=bare.eta * loss), plan.matrix).margin
    low, high = np.quantile(with_it / without, NINE_IN_TEN)
    best = plan.best.gain
    return AbsorberBand(
        bands=bands,
        gain=(min(float(low), best), best, max(float(high), best)),
        off=_OFF,
        gains=likely,
        loose=gains(RINGS_BAND.low),
        stiff=gains(RINGS_BAND.high),
        window_hz=_window(likely, plan.best.absorber.frequency_hz),
        places=_places(plan),
    )


def _loss_band(plan: AbsorberPlan) -> FactorBand:
    """Return the band of the bar's own loss as factors of the likely one."""
    loss, at = clamped_loss(plan.base).loss, plan.base.aligned
    likely = float(loss.likely[at])
    ends = (float(loss.low[at]) / likely, float(loss.high[at]) / likely)
    return FactorBand(LOSS, max(min(ends[0], 1.0), 1e-6), max(ends[1], 1.0))


def _window(gains: FloatArray, frequency_hz: float) -> tuple[float, float]:
    """Return the own frequencies round the tuning between which most of the gain is kept [Hz]."""
    middle = int(np.argmin(np.abs(_OFF)))
    bad = gains < KEPT * gains[middle]
    below, above = np.flatnonzero(bad[:middle]), np.flatnonzero(bad[middle:])
    low = _OFF[below[-1] + 1] if below.size else _OFF[0]
    high = _OFF[middle + above[0] - 1] if above.size else _OFF[-1]
    return float(frequency_hz * (1 + low)), float(frequency_hz * (1 + high))


def _places(plan: AbsorberPlan) -> list[tuple[float, float, float]]:
    """Return what other places of the same mass are worth, by the theory of one mode, tuned anew for each."""
    overhang = plan.base.setup.bar.overhang_mm
    zeta = float(clamped_loss(plan.base).loss.likely[plan.base.aligned]) / 2
    out = []
    for share in _SHARES:
        mu = effective_mass_ratio(plan.base, mass_g=plan.best.slug.mass_g, x=share * overhang * MM)
        best = chatter_best(mu, zeta_primary=zeta)
        out.append((share * overhang, mu, gain(Pair(mu, best, zeta))))
    return out
