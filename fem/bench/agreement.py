"""Whether what was measured fits together: note, pull and model, dampings, and a clipped-on mass rattles."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from stickout.fem.bench.evidence import Evidence, Note
from stickout.fem.bench.posterior import (
    MODEL_SD,
    SHARE_SD,
    Drawn,
    predicted_compliance,
    predicted_loss,
    predicted_note,
)
from stickout.fem.bench.pull import POST
from stickout.fem.compare.reduced import Reduced
from stickout.fem.units import MM

_APART: Final = 1.645  # standard deviations of the difference beyond which note and pull disagree
_FAR: Final = 3.0
_RATTLES: Final = 1.5  # times the damping without it
_GRAM: Final = 1e-3


def without_rattling(evidence: Evidence) -> tuple[Evidence, tuple[str, ...]]:
    """Return the evidence without notes of a clipped-on mass that rattles, and what is not counted.

    Parameters
    ----------
    evidence
        What was measured. A note with a mass is judged beside one without at the same overhang, if there is
        one that has a damping too.

    Returns
    -------
    Evidence, tuple of str

    Source
    ------
    Loss that rises by more than half is the clamp's own: common practice, no source.
    """
    bare = {one.overhang: one for one in evidence.notes if not one.mass and one.damping is not None}
    kept, told = [], []
    for one in evidence.notes:
        times = _times_faster(one, bare.get(one.overhang))
        if times > _RATTLES:
            told.append(
                f"the {one.mass / _GRAM:.3g} g clipped on rattle: with them the note dies away {times:.1f} "
                "times faster than without. Clamp them hard, with nothing soft between, and tap again"
            )
        else:
            kept.append(one)
    return replace(evidence, notes=tuple(kept)), tuple(told)


def _times_faster(note: Note, bare: Note | None) -> float:
    """Return the damping with a mass over that without; zero where chance may have made them differ so."""
    if not note.mass or note.damping is None or bare is None or bare.damping is None:
        return 0.0
    times = note.damping / bare.damping
    by_chance = math.exp(_APART * math.hypot(note.damping_sd, bare.damping_sd))
    return times if times > by_chance else 0.0


def disagreement(models: Mapping[float | None, Reduced], drawn: Drawn, *, evidence: Evidence) -> str | None:
    """Return what does not fit together, in plain words of mechanics; None where all does.

    Parameters
    ----------
    models
        Reduced models by overhang; None is the set-up's own.
    drawn
        Samples as all evidence left them.
    evidence
        What was measured.
    """
    for note in evidence.notes:
        values = np.log(predicted_note(models[note.overhang], drawn, note=note))
        apart = float(values.mean()) - math.log(note.frequency_hz)
        if abs(apart) > _FAR * math.hypot(note.sd, MODEL_SD):
            way = "lower" if apart > 0 else "higher"
            return f"the note is {way} than any grip of this band makes it, by {abs(apart):.1%}: {_WHY[way]}"
    for one in evidence.pulled_from(POST) if evidence.notes else ():
        logs = np.log(predicted_compliance(models[None], drawn, pulled=one))
        apart = math.log(one.compliance) - float(logs.mean())
        if abs(apart) > _APART * math.hypot(float(logs.std()), one.sd, 2 * MODEL_SD):
            way = "softer" if apart > 0 else "stiffer"
            times = math.exp(abs(apart))
            return f"the pull finds it {times:.2f} times {way} than the note does: {_WHY[way]}"
    return _dampings_apart(models, drawn, evidence)


def _dampings_apart(models: Mapping[float | None, Reduced], drawn: Drawn, evidence: Evidence) -> str | None:
    """Return where a note dies away other than one loss of the grip makes it; None with a single damping."""
    heard = [one for one in evidence.notes if one.damping is not None]
    for note in heard if len(heard) > 1 and drawn.loss is not None else ():
        logs = np.log(predicted_loss(drawn, models[note.overhang], note=note))
        apart = math.log(2.0 * (note.damping or 1.0)) - float(logs.mean())
        if abs(apart) > _FAR * math.hypot(float(logs.std()), note.damping_sd, SHARE_SD):
            way = "faster" if apart > 0 else "more slowly"
            where = "" if note.overhang is None else f" at {note.overhang / MM:g} mm overhang"
            return (
                f"the note{where} dies away {math.exp(abs(apart)):.2f} times {way} than one loss of the grip "
                "makes it: the loss does not go with the seat's share of the motion, so do not trust it "
                "elsewhere"
            )
    return None


_WHY: Final = {
    "lower": "mass, overhang, or something that moves and is held still in the model (a rigid grip gives "
    "nothing: describe it as a bed)",
    "higher": "overhang, diameter or the mass at the edge are other than said",
    "softer": "something moves that the model holds still (post, slides), or there is slack",
    "stiffer": "dial or load stood elsewhere than said, or the load eased",
}
