"""Samples of the uncertain inputs, weighed by what was measured: no model is solved again."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bench.evidence import Evidence, Note, PulledCompliance
from stickout.fem.bench.poles import FloatArray
from stickout.fem.compare.inputs import SEAT, Input, draw
from stickout.fem.compare.measures import sampled_measures
from stickout.fem.compare.reduced import Reduced

MODEL_SD: Final = 0.0075  # of a note, by mesh, modulus and diameter: an interval without it would be fiction
_COUNT: Final = 800
_KEPT: Final = 800
_NINETY: Final = 1.645
_STEPS: Final = 3
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
    drawn = prior
    weight = _likelihood(drawn, models, evidence)
    if faces and prior.scale is not None:
        band = faces[0].band
        sd = math.log(band.high / band.low) / (2 * _NINETY)
        middle = 0.5 * math.log(band.high * band.low / band.likely**2)
        ends = np.array([middle - 3 * sd, middle + 3 * sd])
        for _ in range(_STEPS):
            logs = ends[0] + (ends[1] - ends[0]) * rng.random(len(prior.scale))
            drawn = _scaled(prior, np.exp(logs))
            weight = _likelihood(drawn, models, evidence) - 0.5 * ((logs - middle) / sd) ** 2
            share = np.exp(weight - weight.max())
            share /= share.sum()
            at = float(share @ logs)
            reach = 4.0 * max(math.sqrt(float(share @ (logs - at) ** 2)), 0.02)
            ends = np.clip([at - reach, at + reach], ends[0], ends[1])
    share = np.exp(weight - weight.max())
    picks = rng.choice(len(share), size=_KEPT, p=share / share.sum())
    values = {key: one[picks] for key, one in drawn.values.items()}
    return replace(drawn, values=values, scale=None if drawn.scale is None else drawn.scale[picks])


def _likelihood(drawn: Drawn, models: Mapping[float | None, Reduced], evidence: Evidence) -> FloatArray:
    """Return the logarithm of how well every sample fits what was measured."""
    out = np.zeros(len(next(iter(drawn.values.values()))))
    for note in evidence.notes:
        apart = np.log(predicted_note(models[note.overhang], drawn, note=note) / note.frequency_hz)
        out -= 0.5 * (apart / math.hypot(note.sd, MODEL_SD)) ** 2
    for one in () if evidence.notes else evidence.compliances:
        apart = np.log(predicted_compliance(models[None], drawn, pulled=one) / one.compliance)
        out -= 0.5 * (apart / math.hypot(one.sd, 2 * MODEL_SD)) ** 2
    return out


def predicted_note(model: Reduced, drawn: Drawn, *, note: Note) -> FloatArray:
    """Return the note that every sample gives, with the mass clipped on [Hz], shape (n,)."""
    clipped = model.edge if note.mass_at is None else model.sections[note.mass_at]
    fixed = model.mass["fixed"] + note.mass * clipped @ clipped.T
    loaded = replace(model, mass={**model.mass, "fixed": fixed})
    force = _Z if note.direction is None else note.direction
    return sampled_measures(loaded, drawn.inputs, drawn=drawn.values, force=force).values["note_hz"]


def predicted_compliance(model: Reduced, drawn: Drawn, *, pulled: PulledCompliance) -> FloatArray:
    """Return movement at the dial over load at its place for every sample [m/N], shape (n,).

    A cross compliance from two springs: c(a, b) = (c(a + b) - c(a - b)) / 4.
    """
    a, b = model.sections[pulled.load_at], model.sections[pulled.dial_at]

    def moved(edge: FloatArray) -> FloatArray:
        at = replace(model, edge=edge)
        found = sampled_measures(at, drawn.inputs, drawn=drawn.values, force=pulled.direction)
        return found.values["spring_m_per_n"]

    if pulled.load_at == pulled.dial_at:
        return moved(a)
    return (moved(a + b) - moved(a - b)) / 4.0


def drawn_losses(
    drawn: Drawn, models: Mapping[float | None, Reduced], *, evidence: Evidence, seed: int
) -> Drawn:
    """Return samples whose grip loses what was measured, by its share of the mode's energy.

    Parameters
    ----------
    drawn
        Samples of the stiffness.
    models
        Reduced models by overhang.
    evidence
        What was measured.
    seed
        Seed of the sampling.

    Source
    ------
    Loss by energy shares, eta = sum of share times eta (computed here).
    """
    note = next((one for one in evidence.notes if one.damping is not None), None)
    mine = _losses(drawn.inputs)
    if note is None or note.damping is None or not mine:
        return drawn
    n = len(next(iter(drawn.values.values())))
    seat = [one for one in drawn.inputs if SEAT in one.loss and one not in mine]
    silent = {one.key: np.zeros(n) for one in (*mine, *seat)}

    def lost(loss: float) -> FloatArray:
        values = {**drawn.values, **silent, **{one.key: np.full(n, loss) for one in mine}}
        force = _Z if note.direction is None else note.direction
        found = sampled_measures(models[note.overhang], drawn.inputs, drawn=values, force=force)
        return found.values["loss_factor"]

    metal, whole = lost(0.0), lost(1.0)
    rng = np.random.default_rng(seed + 1)
    seen = 2.0 * note.damping * np.exp(note.damping_sd * rng.standard_normal(n))
    loss = np.maximum((seen - metal) / np.maximum(whole - metal, 1e-6), 1e-6)
    return replace(drawn, values={**drawn.values, **silent, **{one.key: loss for one in mine}}, loss=loss)
