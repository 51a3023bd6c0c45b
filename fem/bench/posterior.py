"""Samples of the uncertain inputs, weighed by what was measured: no model is solved again."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bench.evidence import Evidence, Note, PulledCompliance
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.pull import POST
from stickout.fem.compare.inputs import SEAT, Input, draw
from stickout.fem.compare.measures import sampled_measures
from stickout.fem.compare.reduced import Reduced, held_still
from stickout.meshes.tagged import IntArray

# Of a note, by mesh, modulus and diameter: half to one per cent. An interval has to hold at both.
MODEL_SD: Final = 0.01
# Of a share of a mode's energy: the note is the root of that energy, so it misses twice as much of it.
SHARE_SD: Final = 2 * MODEL_SD
_COUNT: Final = 800
_KEPT: Final = 800
_NINETY: Final = 1.645
_EXACT: Final = 1e-4  # of a damping: nothing is known better
# Samples of each narrowing of the range; few of the last fit, and an interval needs some hundreds that do.
_NARROWING: Final = (400, 400, 2400)
_Z: Final = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Drawn:
    """Equally likely samples.

    Attributes
    ----------
    inputs
        The inputs.
    values
        Their values by key, shape (n,) each.
    scale
        Stiffness of the grip's faces over the likely one, shape (n,); None where the grip has none.
    loss
        Loss factor of the faces, or of the seat, shape (n,); None where it was not measured.
    """

    inputs: Sequence[Input]
    values: Mapping[str, FloatArray]
    scale: FloatArray | None = None
    loss: FloatArray | None = None


def prior_draw(inputs: Sequence[Input], *, seed: int) -> Drawn:
    """Return samples of the inputs as assumed, all faces of a grip scaled alike.

    Parameters
    ----------
    inputs
        The inputs of the set-up.
    seed
        Seed of the sampling.
    """
    values = draw(inputs, count=_COUNT, seed=seed)
    return _scaled(Drawn(inputs, values), None)


def _faces(inputs: Sequence[Input]) -> list[Input]:
    """Return the inputs that are a stiffness of faces."""
    return [one for one in inputs if one.key.startswith("stiffness of ")]


def _losses(inputs: Sequence[Input]) -> list[Input]:
    """Return the inputs that are the loss of faces, or of the seat where no face is modelled."""
    faces = [one for one in inputs if any(", " in part for part in one.loss)]
    return faces or [one for one in inputs if SEAT in one.loss]


def _scaled(drawn: Drawn, scale: FloatArray | None) -> Drawn:
    """Return samples with one scale for all faces: the given one, or that of the first."""
    faces = _faces(drawn.inputs)
    if not faces:
        return drawn
    own = drawn.values[faces[0].key] / faces[0].band.likely if scale is None else scale
    return replace(drawn, values={**drawn.values, **{f.key: own * f.band.likely for f in faces}}, scale=own)


def learn(prior: Drawn, models: Mapping[float | None, Reduced], *, evidence: Evidence, seed: int) -> Drawn:
    """Return samples as notes, or pulls where there is no note, leave them.

    Parameters
    ----------
    prior
        Samples as assumed.
    models
        Reduced models by overhang; None is the set-up's own.
    evidence
        What was measured.
    seed
        Seed of the sampling.

    Returns
    -------
    Drawn
        The stiffness of the faces is looked for in narrower and narrower ranges, then resampled.

    Source
    ------
    Importance sampling, log-normal prior over the band (computed here).
    """
    faces = _faces(prior.inputs)
    rng = np.random.default_rng(seed)
    drawn = _redrawn(prior, count=_NARROWING[-1], seed=seed)
    if not faces or drawn.scale is None:
        weight = _likelihood(drawn, models, evidence)
    else:
        band = faces[0].band
        sd = math.log(band.high / band.low) / (2 * _NINETY)
        middle = 0.5 * math.log(band.high * band.low / band.likely**2)
        ends = np.array([middle - 3 * sd, middle + 3 * sd])
        for step, count in enumerate(_NARROWING):
            logs = ends[0] + (ends[1] - ends[0]) * rng.random(count)
            drawn = _scaled(_redrawn(prior, count=count, seed=seed + step), np.exp(logs))
            weight = _likelihood(drawn, models, evidence) - 0.5 * ((logs - middle) / sd) ** 2
            share = _shares(weight)
            at = float(share @ logs)
            reach = 4.0 * max(math.sqrt(float(share @ (logs - at) ** 2)), 0.02)
            ends = np.clip([at - reach, at + reach], ends[0], ends[1])
    picks = even_picks(_shares(weight), count=_KEPT)
    values = {key: one[picks] for key, one in drawn.values.items()}
    return replace(drawn, values=values, scale=None if drawn.scale is None else drawn.scale[picks])


def _redrawn(prior: Drawn, *, count: int, seed: int) -> Drawn:
    """Return as many samples of the inputs of a prior, drawn anew."""
    values = {key: one[1:] for key, one in draw(prior.inputs, count=count, seed=seed).items()}
    return _scaled(replace(prior, values=values, scale=None), None)


def _shares(logs: FloatArray) -> FloatArray:
    """Return weights that add up to one from their logarithms."""
    share = np.exp(logs - logs.max())
    return np.asarray(share / share.sum())


def even_picks(weights: FloatArray, *, count: int) -> IntArray:
    """Return numbers of samples, as many of each as its weight says to within one.

    Source
    ------
    Systematic resampling: Kitagawa 1996 (recalled, not opened).
    """
    steps = (np.arange(count) + 0.5) / count
    return np.searchsorted(np.cumsum(weights), steps).clip(max=len(weights) - 1)


def _likelihood(drawn: Drawn, models: Mapping[float | None, Reduced], evidence: Evidence) -> FloatArray:
    """Return the logarithm of how well every sample fits what was measured."""
    out = np.zeros(len(next(iter(drawn.values.values()))))
    for note in evidence.notes:
        apart = np.log(predicted_note(models[note.overhang], drawn, note=note) / note.frequency_hz)
        out -= 0.5 * (apart / math.hypot(note.sd, MODEL_SD)) ** 2
    for one in () if evidence.notes else evidence.pulled_from(POST):
        apart = np.log(predicted_compliance(models[None], drawn, pulled=one) / one.compliance)
        out -= 0.5 * (apart / math.hypot(one.sd, 2 * MODEL_SD)) ** 2
    return out


def predicted_note(model: Reduced, drawn: Drawn, *, note: Note) -> FloatArray:
    """Return the note that every sample gives, with the mass clipped on [Hz], shape (n,)."""
    loaded, force = _loaded(model, note)
    return sampled_measures(loaded, drawn.inputs, drawn=drawn.values, force=force).values["note_hz"]


def _loaded(model: Reduced, note: Note) -> tuple[Reduced, FloatArray]:
    """Return the model with the mass of a note clipped on, and the direction it was heard in."""
    clipped = model.edge if note.mass_at is None else model.sections[note.mass_at]
    fixed = model.mass["fixed"] + note.mass * clipped @ clipped.T
    force = _Z if note.direction is None else note.direction
    return replace(model, mass={**model.mass, "fixed": fixed}), force


def predicted_compliance(model: Reduced, drawn: Drawn, *, pulled: PulledCompliance) -> FloatArray:
    """Return movement at the dial over load at its place for every sample [m/N], shape (n,).

    A cross compliance from two springs: c(a, b) = (c(a + b) - c(a - b)) / 4.
    """
    seen = held_still(model) if pulled.base == POST else model
    a, b = seen.sections[pulled.load_at], seen.sections[pulled.dial_at]

    def moved(edge: FloatArray) -> FloatArray:
        at = replace(seen, edge=edge)
        found = sampled_measures(at, drawn.inputs, drawn=drawn.values, force=pulled.direction)
        return found.values["spring_m_per_n"]

    if pulled.load_at == pulled.dial_at:
        return moved(a)
    return (moved(a + b) - moved(a - b)) / 4.0


def drawn_losses(
    drawn: Drawn, models: Mapping[float | None, Reduced], *, evidence: Evidence, seed: int, sure: bool
) -> Drawn:
    """Return samples whose grip loses what was measured, by its share of the mode's energy.

    Parameters
    ----------
    drawn
        Samples of the stiffness.
    models
        Reduced models by overhang.
    evidence
        What was measured; every damping counts, as well as it is known.
    seed
        Seed of the sampling.
    sure
        Whether it is the damping of a mode that was itself heard that will be predicted: then the share
        drops out again, and its error with it.

    Source
    ------
    Loss by energy shares, eta = sum of share times eta (computed here).
    """
    heard = [one for one in evidence.notes if one.damping is not None]
    if not heard or not _losses(drawn.inputs):
        return drawn
    n = len(next(iter(drawn.values.values())))
    alone = len(heard) == 1
    sds = np.array([one.damping_sd if alone else math.hypot(one.damping_sd, SHARE_SD) for one in heard])
    trust = 1.0 / np.maximum(sds, _EXACT) ** 2
    logs = np.log([_own_loss(drawn, models[one.overhang], note=one) for one in heard])
    rng = np.random.default_rng(seed + 1)
    loss = np.exp(trust @ logs / trust.sum() + rng.standard_normal(n) / math.sqrt(trust.sum()))
    told = loss * np.exp(SHARE_SD * rng.standard_normal(n))
    return replace(with_loss(drawn, loss if sure else told), loss=told)


def _own_loss(drawn: Drawn, model: Reduced, *, note: Note) -> FloatArray:
    """Return the loss factor of faces or seat that makes every sample lose what was heard, shape (n,)."""
    metal, whole = (predicted_loss(with_loss(drawn, one), model, note=note) for one in (0.0, 1.0))
    return np.maximum((2.0 * (note.damping or 0.0) - metal) / np.maximum(whole - metal, 1e-6), 1e-6)


def predicted_loss(drawn: Drawn, model: Reduced, *, note: Note) -> FloatArray:
    """Return the loss factor of a note's mode in every sample, shape (n,)."""
    loaded, force = _loaded(model, note)
    return sampled_measures(loaded, drawn.inputs, drawn=drawn.values, force=force).values["loss_factor"]


def with_loss(drawn: Drawn, loss: FloatArray | float) -> Drawn:
    """Return samples whose faces, or seat where no face is modelled, lose so much, and nothing besides."""
    mine, n = _losses(drawn.inputs), len(next(iter(drawn.values.values())))
    silent = {one.key: np.zeros(n) for one in drawn.inputs if SEAT in one.loss and one not in mine}
    return replace(drawn, values={**drawn.values, **silent, **{one.key: np.full(n, loss) for one in mine}})
