"""What carries the holder, from pulls with the dial on the bed: what moves beyond tool and grip.

One dial tells how much post and slides give at the edge; how that splits between giving way and tilting is
told only by pulls at several places, and stays as on other small lathes until then.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bench.evidence import PulledCompliance
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.posterior import MODEL_SD, Drawn, even_picks
from stickout.fem.compare.reduced import Reduced
from stickout.fem.setup.bands import MEASURED, NINE_IN_TEN, Band
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import SPRING, TILT, post_place
from stickout.fem.setup.work_parts import Post
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.units import MM, N_PER_UM
from stickout.meshes.tagged import IntArray

UP, SIDEWAYS, TILTING = "post.up_n_per_um", "post.sideways_n_per_um", "post.tilt_nm_per_rad"
_BOTH: Final = (UP, SIDEWAYS)
_TRIES: Final = 40
_NINETY: Final = 1.645
_FAR: Final = 3.0
_EDGE: Final = 5.0  # how much more the edge counts than the springs, for a sample to stand for all


@dataclass(frozen=True)
class Carried:
    """What carries the holder, as pulls leave it.

    Attributes
    ----------
    bands
        Key -> 90 % interval, N/µm or N m/rad; directions that were not pulled are left out.
    springs
        Likely springs over those of other small lathes, along x, y, z and against tilting, shape (6,).
    picks
        Numbers of the tool's samples that go with them, shape (n,).
    scale
        Stiffness of the post over the likely one for each of these, shape (n,).
    strange
        What does not fit, in words of mechanics; None where all does.
    """

    bands: Mapping[str, Band]
    springs: FloatArray
    picks: IntArray
    scale: FloatArray
    strange: str | None


def post_of_pulls(
    pulls: Sequence[PulledCompliance], tools: Sequence[FloatArray], *, setup: Setup, seed: int
) -> Carried:
    """Return what carries the holder.

    Parameters
    ----------
    pulls
        Pulls with the dial on the bed.
    tools
        What tool and grip give in each of them, for every sample [m/N], shape (n,) each.
    setup
        The set-up.
    seed
        Seed of the sampling.

    Returns
    -------
    Carried

    Source
    ------
    Springs in series; importance sampling, log-normal priors over the bands of small lathes (computed here).
    """
    n, rng = len(tools[0]), np.random.default_rng(seed)
    drawn = {key: _drawn(TILT if key == TILTING else SPRING, rng, n) for key in (*_BOTH, TILTING)}
    place = post_place(setup)
    logs, totals = np.zeros((n, _TRIES)), []
    for one, tool in zip(pulls, tools, strict=True):
        arms = (one.load_at - place) * (one.dial_at - place)
        totals.append(tool[:, None] + 1.0 / drawn[_way(one)] + arms / drawn[TILTING])
        logs -= 0.5 * (np.log(totals[-1] / one.compliance) / math.hypot(one.sd, 2 * MODEL_SD)) ** 2
    weights = np.exp(logs - logs.max()).ravel()
    at = even_picks(weights / weights.sum(), count=n)
    kept = {key: value.ravel()[at] for key, value in drawn.items()}
    strange = _strange(pulls, [one.ravel()[at] for one in totals])
    arm = setup.bar.overhang_mm * MM - place
    pulled = [key for key in _BOTH if any(_way(one) == key for one in pulls)]
    edge = {key: 1.0 / kept[key] + arm**2 / kept[TILTING] for key in pulled}
    likely = _typical(kept, edge)
    ratios = {key: np.quantile(_edge(likely, key, arm=arm) / edge[key], NINE_IN_TEN) for key in pulled}
    widest = max(ratios.values(), key=lambda one: float(one[1] / one[0]))
    bands = {
        key: _band(likely[key], ends, unit=1.0 if key == TILTING else N_PER_UM)
        for key, ends in (*ratios.items(), (TILTING, widest))
    }
    along = SPRING.likely
    across = [likely[key] if key in pulled else along for key in (SIDEWAYS, UP)]
    springs = np.array([1.0, *(one / along for one in across), *[likely[TILTING] / TILT.likely] * 3])
    first = pulled[0]
    scale = _edge(likely, first, arm=arm) / edge[first]
    return Carried(bands, springs, at // _TRIES, scale, strange)


def _edge(likely: Mapping[str, float], key: str, *, arm: float) -> float:
    """Return what the likely post gives at the edge in one direction [m/N]."""
    return 1.0 / likely[key] + arm**2 / likely[TILTING]


def on_post(drawn: Drawn, carried: Carried) -> Drawn:
    """Return the samples of the tool that go with those of what carries it, the post's springs with them."""
    at = carried.picks
    values = {key: one[at] for key, one in drawn.values.items()}
    for one in drawn.inputs:
        if one.stiffness == (CARRIER,):
            values[one.key] = carried.scale * one.band.likely
    scale, loss = (None if one is None else one[at] for one in (drawn.scale, drawn.loss))
    return replace(drawn, values=values, scale=scale, loss=loss)


def on_springs(model: Reduced, springs: FloatArray) -> Reduced:
    """Return a model on a post whose springs are stiffer by factors, shape (6,): six free ways to move."""
    post = model.stiffness[CARRIER].copy()
    post[-6:, -6:] *= springs[:, None]
    return replace(model, stiffness={**model.stiffness, CARRIER: post})


def without_springs(setup: Setup) -> Setup:
    """Return the set-up with the post's springs as on other small lathes: pulls tell them anew."""
    own = setup.post or Post()
    return replace(setup, post=Post(mass_kg=own.mass_kg, loss_factor=own.loss_factor, measured=own.measured))


def _way(pulled: PulledCompliance) -> str:
    """Return the key of the spring that a pull loads."""
    return UP if abs(float(pulled.direction[2])) > abs(float(pulled.direction[1])) else SIDEWAYS


def _drawn(band: Band, rng: np.random.Generator, count: int) -> FloatArray:
    """Return draws of a spring, shape (count, tries)."""
    width = math.log(band.high / band.low) / (2 * _NINETY)
    middle = 0.5 * math.log(band.high * band.low)
    return np.exp(middle + width * rng.standard_normal((count, _TRIES)))


def _typical(kept: Mapping[str, FloatArray], edge: Mapping[str, FloatArray]) -> dict[str, float]:
    """Return the sample that lies most in the middle, by what the edge feels first of all."""
    off = np.zeros(len(next(iter(kept.values()))))
    for values, weight in (*((one, 1.0) for one in kept.values()), *((one, _EDGE) for one in edge.values())):
        logs = np.log(values)
        off += (weight * (logs - np.median(logs)) / max(float(logs.std()), 1e-9)) ** 2
    at = int(np.argmin(off))
    return {key: float(value[at]) for key, value in kept.items()}


def _band(likely: float, ends: FloatArray, *, unit: float) -> Band:
    """Return the interval of a spring: as wide as what the edge feels of it."""
    low, high = min(float(ends[0]), 1.0), max(float(ends[1]), 1.0)
    return Band(low * likely / unit, likely / unit, high * likely / unit, f"{MEASURED}: pulled from the bed")


def _strange(pulls: Sequence[PulledCompliance], totals: Sequence[FloatArray]) -> str | None:
    """Return where a pull cannot be what tool, grip and a post give."""
    for one, total in zip(pulls, totals, strict=True):
        logs = np.log(total / one.compliance)
        apart = float(np.median(logs))
        if abs(apart) > _FAR * math.hypot(one.sd, 2 * MODEL_SD):
            way, times = ("stiffer" if apart > 0 else "softer"), math.exp(abs(apart))
            return f"the pull from the bed finds all of it {times:.2f} times {way} than can be: {_WHY[way]}"
    return None


_WHY: Final = {
    "stiffer": "it gives no more than tool and grip alone, so dial or load stood elsewhere than said",
    "softer": "slides or saddle have slack, or are far softer than on other small lathes",
}
