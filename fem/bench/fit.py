"""Taps and pulls set against the model: what the grip is, and what follows for note, spring and margin.

The shear ratio of the faces is never learnt from notes and pulls, and stays at its prior; predictions are
what comes out sharp. Where note and pull disagree nothing is averaged: something moves that the model holds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.bench.agreement import disagreement, without_rattling
from stickout.fem.bench.evidence import Evidence
from stickout.fem.bench.posterior import Drawn, drawn_losses, learn, prior_draw
from stickout.fem.bench.predictions import (
    SEED,
    Judged,
    Pool,
    Predictions,
    after_hearing,
    after_passes,
    interval,
    judged,
    overhang_of,
    pooled,
    predictions,
)
from stickout.fem.bench.worth import Worth, worths
from stickout.fem.compare.inputs import setup_inputs
from stickout.fem.compare.reduced import Reduced, reduced_model
from stickout.fem.errors import InputError
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.nearest import Plain
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM

MOST_SOLVES: Final = 5
_THERE: Final = math.inf  # stands for the set-up that is predicted where that is another one


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
    steps
        What was taken in, one after the other (``note``, ``damping``, ``pull``, ``sprung``, ``heard``), and
        what follows with it.
    worths
        What each measurement that was not made would bring, the best first; empty without a cut.
    disagreement
        Why note and pull, note and model, or two dampings do not fit together; None where they do.
    left_out
        What was measured and is not counted, and why.
    full_solves
        Finite-element models that were solved.
    drawn
        Samples of the tool before and after, for pictures.
    """

    parameters: Mapping[str, Band]
    predictions: Predictions
    before: Predictions
    steps: tuple[tuple[str, Predictions], ...]
    worths: tuple[Worth, ...]
    disagreement: str | None
    left_out: tuple[str, ...]
    full_solves: int
    drawn: tuple[Drawn, Drawn]


def fit_setup(setup: Setup, evidence: Evidence, *, elsewhere: Setup | None = None) -> Fitted:
    """Return what taps, pulls and cuts heard teach about a set-up's grip and its cut.

    Parameters
    ----------
    setup
        The set-up as it stood when it was tapped and pulled.
    evidence
        Notes, dampings and compliances, spring passes and cuts heard.
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
    Importance sampling on reduced models (computed here); model error 1 % of a note.
    """
    evidence, left_out = without_rattling(evidence)
    models = _models(setup, evidence, elsewhere=elsewhere)
    target, there = elsewhere or setup, models[_THERE if elsewhere is not None else None]
    inputs = setup_inputs(setup, regions=_regions(models[None]), ties=models[None].ties, faces_lose=True)
    prior = prior_draw(inputs, seed=SEED)
    learnt = learn(prior, models, evidence=evidence, seed=SEED)
    case, own = described(target), described(setup)
    tapped = elsewhere is None and any(one.overhang is None for one in evidence.notes)
    final = drawn_losses(learnt, models, evidence=evidence, seed=SEED, sure=tapped)

    def told(drawn: Drawn, *, sure: bool, pool: Pool | None = None) -> tuple[Predictions, Judged | None]:
        pool = pooled(drawn, case) if pool is None else pool
        margins = None if case is None else judged(pool, there, target=target, case=case)
        return predictions(pool, there, target=target, margins=margins, sure=sure), margins

    before, last = told(prior, sure=False)[0], told(final, sure=tapped)
    steps = [(name, told(one, sure=tapped)[0]) for name, one in _steps(evidence, learnt)]
    if final is not learnt:
        steps.append(("damping", last[0]))
    pool, strange = pooled(final, case), None
    if evidence.sprung:
        own = cut_case(setup)
        pool, strange = after_passes(pool, models[None], setup=setup, case=own, passes=evidence.sprung)
        last = told(final, sure=tapped, pool=pool)
        steps.append(("sprung", last[0]))
    if evidence.cuts and own is not None:
        pool = after_hearing(pool, models, setup=setup, case=own, cuts=evidence.cuts)
        last = told(final, sure=tapped, pool=pool)
        steps.append(("heard", last[0]))
    after, margins = last
    return Fitted(
        parameters=_parameters(setup, final),
        predictions=after,
        before=before,
        steps=tuple(steps),
        worths=() if margins is None or case is None else worths(margins, case, evidence=evidence),
        disagreement=disagreement(models, final, evidence=evidence) or strange,
        left_out=left_out,
        full_solves=len(models),
        drawn=(prior, final),
    )


def _steps(evidence: Evidence, learnt: Drawn) -> list[tuple[str, Drawn]]:
    """Return what ruled the stiffness: the notes, or the pulls where there is none."""
    if evidence.notes:
        return [("note", learnt)]
    return [("pull", learnt)] if evidence.compliances else []


def described(setup: Setup) -> CutCase | None:
    """Return the cut where it is described far enough."""
    try:
        return cut_case(setup)
    except InputError:
        return None


def _models(setup: Setup, evidence: Evidence, *, elsewhere: Setup | None) -> dict[float | None, Reduced]:
    """Return the reduced models by overhang, None being the set-up's own, and of the place to predict."""
    if not any((evidence.notes, evidence.compliances, evidence.cuts, evidence.sprung)):
        raise InputError(
            key="log",
            given=Plain("nothing that can be used"),
            allowed="a note heard, a pull on tool and grip, a spring pass, or a cut heard",
            mend="Look at listen and pull: they tell why taps and readings were refused.",
        )
    places = _places(setup, evidence)
    heard = [overhang_of(one, setup) for one in evidence.cuts]
    setups = {None: setup} | {one: _at(setup, one) for one in [*(n.overhang for n in evidence.notes), *heard]}
    if len(setups) + (elsewhere is not None) > MOST_SOLVES:
        raise InputError(
            key="log",
            given=f"taps and cuts at {len(setups) - 1} other overhangs",
            allowed=f"at most {MOST_SOLVES - 1 - (elsewhere is not None)}",
            mend="Fit fewer overhangs at once.",
        )
    models = {key: reduced_model(one, places=places.get(key, ())) for key, one in setups.items()}
    return models if elsewhere is None else models | {_THERE: reduced_model(elsewhere)}


def _places(setup: Setup, evidence: Evidence) -> dict[float | None, list[float]]:
    """Return where loads, dials and clipped masses were, by overhang."""
    places: dict[float | None, set[float]] = {
        None: {x for one in evidence.compliances for x in (one.load_at, one.dial_at)}
    }
    for note in evidence.notes:
        if note.mass_at is None:
            continue
        longest = MM * setup.bar.overhang_mm if note.overhang is None else note.overhang
        if not 0.0 < note.mass_at <= longest:
            raise InputError(
                key="tap: at",
                given=Plain(f"{note.mass_at / MM:g} mm from the holder face"),
                allowed=f"on the bar, above 0 and at most {longest / MM:g} mm",
                mend="Measure from the holder face to the middle of the mass.",
            )
        places.setdefault(note.overhang, set()).add(note.mass_at)
    return {key: sorted(one) for key, one in places.items()}


def _at(setup: Setup, overhang: float | None) -> Setup:
    """Return the set-up at another overhang [m]."""
    if overhang is None:
        return setup
    return replace(setup, bar=replace(setup.bar, overhang_mm=1e3 * overhang))


def _regions(model: Reduced) -> list[str]:
    """Return the regions of a reduced model."""
    return [name for name in model.stiffness if ", " not in name]


def _parameters(setup: Setup, drawn: Drawn) -> dict[str, Band]:
    """Return the intervals of what was learnt, by the set-up's keys."""
    out: dict[str, Band] = {}
    faces = setup.grip.springs
    name = setup.grip.faces_name
    if drawn.scale is not None and faces is not None:
        out[f"grip.{name}_n_per_um_mm2"] = interval(drawn.scale * faces.normal_n_per_um_mm2.likely)
    if drawn.loss is not None:
        out["loss_factor" if faces is None else f"grip.{name}_loss_factor"] = interval(drawn.loss)
    return out
