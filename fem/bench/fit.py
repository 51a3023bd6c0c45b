"""Taps and pulls set against the model: what the grip is, and what follows for note, spring and margin.

The shear ratio of the faces is never learnt from notes and pulls, and stays at its prior; predictions are
what comes out sharp. Where note and pull disagree nothing is averaged: something moves that the model holds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.bench.evidence import Evidence
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.posterior import (
    MODEL_SD,
    Drawn,
    drawn_losses,
    learn,
    predicted_note,
    predicted_spring,
    prior_draw,
)
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.compare.inputs import setup_inputs
from stickout.fem.compare.measures import sampled_measures
from stickout.fem.compare.reduced import Reduced, reduced_model
from stickout.fem.errors import InputError
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.force.loading import loading
from stickout.fem.nearest import Plain
from stickout.fem.setup.bands import MEASURED, Band
from stickout.fem.setup.parts import Setup

MOST_SOLVES: Final = 5
_SEED: Final = 20261127
_SOURCE: Final = f"{MEASURED}: fitted to taps and pulls"
_APART: Final = 1.645  # standard deviations of the difference beyond which note and pull disagree


@dataclass(frozen=True)
class Predictions:
    """90 % intervals: natural frequency [Hz], compliance along the force [m/N], margin at any speed."""

    frequency_hz: Band
    spring: Band
    margin: Band | None


@dataclass(frozen=True)
class Fitted:
    """What the bench taught.

    Attributes
    ----------
    parameters
        Name of the set-up's key -> 90 % interval.
    predictions
        What follows, with everything measured.
    before
        The same from the assumed bands alone.
    disagreement
        Why note and pull, or note and model, do not fit together; None where they do.
    full_solves
        Finite-element models that were solved.
    """

    parameters: Mapping[str, Band]
    predictions: Predictions
    before: Predictions
    disagreement: str | None
    full_solves: int


def fit_setup(setup: Setup, evidence: Evidence, *, elsewhere: Setup | None = None) -> Fitted:
    """Return what taps and pulls teach about a set-up's grip.

    Parameters
    ----------
    setup
        The set-up as it stood when it was tapped and pulled.
    evidence
        Notes, dampings and compliances.
    elsewhere
        The set-up that is to be predicted, the same grip; the first one where it is None.

    Returns
    -------
    Fitted

    Raises
    ------
    InputError
        Nothing was measured, or at more overhangs than five models can hold.
    SolveError
        A model could not be solved.

    Source
    ------
    Importance sampling on reduced models (computed here); model error 0.75 % of a note.
    """
    if not evidence.notes and not evidence.springs:
        raise InputError(
            key="log",
            given=Plain("nothing that can be used"),
            allowed="a note heard, or a pull on tool and grip",
            mend="Look at listen and pull: they tell why taps and readings were refused.",
        )
    places = sorted({x for one in evidence.springs for x in (one.load_at, one.dial_at)})
    setups = {None: setup} | {one.overhang: _at(setup, one.overhang) for one in evidence.notes}
    if len(setups) + (elsewhere is not None) > MOST_SOLVES:
        raise InputError(
            key="log",
            given=f"taps at {len(setups) - 1} other overhangs",
            allowed=f"at most {MOST_SOLVES - 1 - (elsewhere is not None)}",
            mend="Fit fewer overhangs at once.",
        )
    models = {key: reduced_model(one, places=places if key is None else ()) for key, one in setups.items()}
    there = reduced_model(elsewhere) if elsewhere is not None else models[None]
    target = elsewhere or setup
    inputs = setup_inputs(setup, regions=_regions(models[None]), ties=models[None].ties, faces_lose=True)
    prior = prior_draw(inputs, seed=_SEED)
    before = _predictions(there, prior, target)
    learnt = learn(prior, models, evidence=evidence, seed=_SEED)
    final = drawn_losses(learnt, models, evidence=evidence, seed=_SEED)
    tapped = elsewhere is None and any(one.overhang is None for one in evidence.notes)
    after = _predictions(there, final, target, sure=tapped)
    parameters = _parameters(setup, final)
    solves = len(models) + (elsewhere is not None)
    return Fitted(parameters, after, before, _disagreement(models, final, evidence), solves)


def _at(setup: Setup, overhang: float | None) -> Setup:
    """Return the set-up at another overhang [m]."""
    if overhang is None:
        return setup
    return replace(setup, bar=replace(setup.bar, overhang_mm=1e3 * overhang))


def _regions(model: Reduced) -> list[str]:
    """Return the regions of a reduced model."""
    return [name for name in model.stiffness if ", " not in name]


def _predictions(model: Reduced, drawn: Drawn, target: Setup, *, sure: bool = False) -> Predictions:
    """Return the intervals of a draw; where the note itself was heard (``sure``) the model adds no error."""
    case = _case(target)
    force = loading(target.cut).direction
    samples = sampled_measures(model, drawn.inputs, drawn=drawn.values, force=force)
    found = samples.values
    rng = np.random.default_rng(_SEED)
    noise = np.exp(MODEL_SD * rng.standard_normal(len(found["note_hz"])))
    margin = None
    if case is not None:
        push = np.exp(
            rng.triangular(math.log(case.material.low), 0.0, math.log(case.material.high), len(noise))
        )
        margin = _interval(absolute_limit(samples.tool, case.stiffness).margin / push)
    return Predictions(
        _interval(found["note_hz"] * (1.0 if sure else noise)),
        _interval(found["spring_m_per_n"] * noise**2),
        margin,
    )


def _case(setup: Setup) -> CutCase | None:
    """Return the cut where it is described far enough."""
    try:
        return cut_case(setup)
    except InputError:
        return None


def _interval(values: FloatArray) -> Band:
    """Return the 90 % interval of equally likely values."""
    low, middle, high = (float(one) for one in np.percentile(values, [5, 50, 95]))
    return Band(low, middle, high, _SOURCE)


def _parameters(setup: Setup, drawn: Drawn) -> dict[str, Band]:
    """Return the intervals of what was learnt, by the set-up's keys."""
    out: dict[str, Band] = {}
    faces = setup.grip.springs
    name = setup.grip.faces_name
    if drawn.scale is not None and faces is not None:
        out[f"grip.{name}_n_per_um_mm2"] = _interval(drawn.scale * faces.normal_n_per_um_mm2.likely)
    if drawn.loss is not None:
        out["loss_factor" if faces is None else f"grip.{name}_loss_factor"] = _interval(drawn.loss)
    return out


def _disagreement(models: Mapping[float | None, Reduced], drawn: Drawn, evidence: Evidence) -> str | None:
    """Return what does not fit together, in plain words of mechanics."""
    for note in evidence.notes:
        values = np.log(predicted_note(models[note.overhang], drawn, note=note))
        apart = float(values.mean()) - math.log(note.frequency_hz)
        if abs(apart) > 3.0 * math.hypot(note.sd, MODEL_SD):
            way = "lower" if apart > 0 else "higher"
            return f"the note is {way} than any grip of this band makes it, by {abs(apart):.1%}: {_WHY[way]}"
    for spring in evidence.springs if evidence.notes else ():
        logs = np.log(predicted_spring(models[None], drawn, spring=spring))
        apart = math.log(spring.compliance) - float(logs.mean())
        if abs(apart) > _APART * math.hypot(float(logs.std()), spring.sd, 2 * MODEL_SD):
            way = "softer" if apart > 0 else "stiffer"
            times = math.exp(abs(apart))
            return f"the pull finds it {times:.2f} times {way} than the note does: {_WHY[way]}"
    return None


_WHY: Final = {
    "lower": "mass, overhang, or something that moves and is held still in the model",
    "higher": "overhang, diameter or the mass at the edge are other than said",
    "softer": "something moves that the model holds still (post, slides), or there is slack",
    "stiffer": "dial or load stood elsewhere than said, or the load eased",
}
