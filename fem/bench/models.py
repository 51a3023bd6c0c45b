"""The models of a fit: one reduced model for each overhang of what was measured, and of what is predicted."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from stickout.fem.bench.evidence import Evidence
from stickout.fem.bench.predictions import overhang_of
from stickout.fem.compare.reduced import Reduced, reduced_model
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM

MOST_SOLVES: Final = 5
THERE: Final = math.inf  # stands for the set-up that is predicted where that is another one


def models_of(setup: Setup, evidence: Evidence, *, elsewhere: Setup | None) -> dict[float | None, Reduced]:
    """Return the reduced models by overhang, None being the set-up's own, and of the place to predict.

    Parameters
    ----------
    setup
        The set-up.
    evidence
        What was measured.
    elsewhere
        The set-up that is to be predicted, under ``THERE``; None where it is the first one.

    Raises
    ------
    InputError
        Nothing was measured, or at more overhangs than five models can hold.
    SolveError
        A model could not be solved.
    """
    if not any((evidence.notes, evidence.compliances, evidence.cuts, evidence.sprung)):
        raise InputError(
            key="log",
            given=Plain("nothing that can be used"),
            allowed="a note heard, a pull on tool and grip, a spring pass, or a cut heard",
            mend="Look at listen and pull: they tell why taps and readings were refused.",
        )
    places = _places(setup, evidence)
    heard = [overhang_of(one, setup) for one in evidence.cuts]
    heard += [overhang_of(one, setup) for one in evidence.sprung]
    setups = {None: setup} | {one: _at(setup, one) for one in [*(n.overhang for n in evidence.notes), *heard]}
    if len(setups) + (elsewhere is not None) > MOST_SOLVES:
        raise InputError(
            key="log",
            given=f"taps, passes and cuts at {len(setups) - 1} other overhangs",
            allowed=f"at most {MOST_SOLVES - 1 - (elsewhere is not None)}",
            mend="Fit fewer overhangs at once.",
        )
    models = {key: reduced_model(one, places=places.get(key, ())) for key, one in setups.items()}
    return models if elsewhere is None else models | {THERE: reduced_model(elsewhere)}


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
