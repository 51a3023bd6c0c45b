"""Taps and pulls set against the model: what the grip is, and what follows for note, spring and margin.

The shear ratio of the faces is never learnt from notes and pulls, and stays at its prior; predictions are
what comes out sharp. Where note and pull disagree nothing is averaged: something moves that the model holds.
Pulls with the dial on the bed tell what carries the holder.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from stickout.fem.bench.agreement import disagreement, without_rattling
from stickout.fem.bench.carried import Carried, on_post, on_springs, post_of_pulls, without_springs
from stickout.fem.bench.evidence import Evidence
from stickout.fem.bench.models import THERE, models_of
from stickout.fem.bench.posterior import Drawn, drawn_losses, learn, predicted_compliance, prior_draw
from stickout.fem.bench.predictions import (
    SEED,
    Judged,
    Pool,
    Predictions,
    after_hearing,
    after_passes,
    interval,
    judged,
    pooled,
    predictions,
)
from stickout.fem.bench.pull import BED, POST
from stickout.fem.bench.worth import Worth, worths
from stickout.fem.compare.inputs import Input, setup_inputs
from stickout.fem.compare.reduced import Reduced, held_still
from stickout.fem.errors import InputError
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.carrier import CARRIER

PUSH: Final = "measured.push"

Models = Mapping[float | None, Reduced]


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
        What was taken in, one after the other (``note``, ``damping``, ``pull``, ``post``, ``sprung``,
        ``heard``), and what follows with it.
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
    pulled = evidence.pulled_from(BED)
    rode = setup.post is not None
    if pulled:
        setup, elsewhere = without_springs(setup), elsewhere and without_springs(elsewhere)
    models = models_of(setup, evidence, elsewhere=elsewhere)
    # So heavy is a post that at the tool's own note it all but stands still: taps tell of tool and grip.
    still = {key: held_still(one) for key, one in models.items()}
    prior = prior_draw(_inputs(setup, models[None]), seed=SEED)
    learnt = learn(prior, still, evidence=evidence, seed=SEED)
    tapped = elsewhere is None and any(one.overhang is None for one in evidence.notes)
    final = drawn_losses(learnt, still, evidence=evidence, seed=SEED, sure=tapped)
    asked = _Asked(elsewhere or setup, THERE if elsewhere is not None else None, tapped)
    first = models if rode else still
    before = asked.told(pooled(prior, asked.case), first, sure=False)[0]
    drawn = [*_steps(evidence, learnt), *([("damping", final)] if final is not learnt else [])]
    steps = [(name, asked.told(pooled(one, asked.case), first)) for name, one in drawn]
    carried = None
    if pulled:
        tools = [predicted_compliance(still[None], final, pulled=one) for one in pulled]
        carried = post_of_pulls(pulled, tools, setup=setup, seed=SEED)
        final = on_post(final, carried)
        models = {key: on_springs(one, carried.springs) for key, one in models.items()}
        steps.append(("post", asked.told(pooled(final, asked.case), models)))
    pool, strange = pooled(final, asked.case), None if carried is None else carried.strange
    own = cut_case(setup) if evidence.sprung else described(setup)
    if evidence.sprung and own is not None:
        pool, odd = after_passes(pool, models, setup=setup, case=own, passes=evidence.sprung)
        strange = strange or odd
        steps.append(("sprung", asked.told(pool, models)))
    # Cuts heard stay in the set-up and count again there: what is written of the push is without them.
    parameters = _parameters(setup, final, pool=pool, carried=carried, sprung=bool(evidence.sprung))
    if evidence.cuts and own is not None:
        pool = after_hearing(pool, models, setup=setup, case=own, cuts=evidence.cuts)
        steps.append(("heard", asked.told(pool, models)))
    after, margins = steps[-1][1] if steps else asked.told(pool, models)
    return Fitted(
        parameters=parameters,
        predictions=after,
        before=before,
        steps=tuple((name, one[0]) for name, one in steps),
        worths=_worths(margins, asked.case, evidence),
        disagreement=disagreement(still, final, evidence=evidence) or strange,
        left_out=left_out,
        full_solves=len(models),
        drawn=(prior, final),
    )


def _worths(margins: Judged | None, case: CutCase | None, evidence: Evidence) -> tuple[Worth, ...]:
    """Return what each measurement that was not made would bring; nothing without a cut."""
    return () if margins is None or case is None else worths(margins, case, evidence=evidence)


@dataclass(frozen=True)
class _Asked:
    """What is to be predicted: a set-up, under which key its model stands, whether its own note was heard."""

    target: Setup
    key: float | None
    sure: bool

    @property
    def case(self) -> CutCase | None:
        """Return its cut where it is described far enough."""
        return described(self.target)

    def told(
        self, pool: Pool, models: Models, *, sure: bool | None = None
    ) -> tuple[Predictions, Judged | None]:
        """Return what follows from samples, and their margins."""
        model, case = models[self.key], self.case
        margins = None if case is None else judged(pool, model, target=self.target, case=case)
        sure = self.sure if sure is None else sure
        return predictions(pool, model, target=self.target, margins=margins, sure=sure), margins


def _inputs(setup: Setup, model: Reduced) -> list[Input]:
    """Return the inputs of a set-up, its faces' loss among them."""
    regions = [name for name in model.stiffness if ", " not in name and name != CARRIER]
    return setup_inputs(setup, regions=regions, ties=model.ties, faces_lose=True)


def _steps(evidence: Evidence, learnt: Drawn) -> list[tuple[str, Drawn]]:
    """Return what ruled the stiffness: the notes, or the pulls where there is none."""
    if evidence.notes:
        return [("note", learnt)]
    return [("pull", learnt)] if evidence.pulled_from(POST) else []


def described(setup: Setup) -> CutCase | None:
    """Return the cut where it is described far enough."""
    try:
        return cut_case(setup)
    except InputError:
        return None


def _parameters(
    setup: Setup, drawn: Drawn, *, pool: Pool, carried: Carried | None, sprung: bool
) -> dict[str, Band]:
    """Return the intervals of what was learnt, by the set-up's keys."""
    out: dict[str, Band] = {}
    faces = setup.grip.springs
    name = setup.grip.faces_name
    if drawn.scale is not None and faces is not None:
        out[f"grip.{name}_n_per_um_mm2"] = interval(drawn.scale * faces.normal_n_per_um_mm2.likely)
    if drawn.loss is not None:
        out["loss_factor" if faces is None else f"grip.{name}_loss_factor"] = interval(drawn.loss)
    if sprung and pool.unheard is not None:
        out[PUSH] = interval(pool.unheard.force * pool.unheard.thrust)
    return out if carried is None else {**out, **carried.bands}
