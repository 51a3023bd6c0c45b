"""The design questions of ``size`` as plain data, SI throughout."""

from __future__ import annotations

from typing import Any

from stickout.fem.chatter.uncertainty import Spread
from stickout.fem.records.result import assumption_record
from stickout.fem.size.gains import Gain
from stickout.fem.size.questions import Questions
from stickout.fem.units import MM


def questions_record(questions: Questions) -> dict[str, Any]:
    """Return the answers to the design questions.

    Parameters
    ----------
    questions
        The answers.

    Returns
    -------
    dict
        ``spring_m_per_n`` and ``frequency_hz`` of the best bar (bands of seat and modulus);
        ``stiffness_lost_per_m_of_clearance`` (share, null where none is left); ``materials`` and
        ``shapes`` (name, stiffness_n_per_m, frequency_hz and the ratios stiffness, note,
        depth_limit); ``drilled`` (hole, and what is left of stiffness, note and section, and at the holder
        face); ``overhang`` (rule over the bar's size; bands for the wanted spring and depth, null where not
        asked or out of reach; what a metre more costs; overhangs of equal stiffness); ``grip`` (curve and
        knee, null for a rigid grip); ``assumptions``.
    """
    reach, grip = questions.reach, questions.grip
    return {
        "spring_m_per_n": _ends(questions.spring.low, questions.spring.likely, questions.spring.high),
        "frequency_hz": _ends(questions.note.low, questions.note.likely, questions.note.high),
        "stiffness_lost_per_m_of_clearance": None
        if questions.clearance is None
        else questions.clearance / MM,
        "materials": [_gain(one) for one in questions.materials],
        "shapes": [_gain(one) for one in questions.shapes],
        "drilled": [
            {
                "diameter_m": one.hole.diameter_mm * MM,
                "from_end_m": one.hole.from_end_mm * MM,
                "along": one.hole.along,
                "stiffness": one.stiffness,
                "note": one.note,
                "section": one.section,
                "stiffness_at_root": one.at_root,
            }
            for one in questions.holes
        ],
        "overhang": {
            "rule": None if reach.rule is None else _ends(reach.rule.low, reach.rule.likely, reach.rule.high),
            "rule_spring_m_per_n": reach.rule_spring,
            "load_n": reach.load_n,
            "for_spring_m": _band(reach.spring),
            "for_depth_m": _band(reach.depth),
            "stiffness_lost_per_m": reach.per_mm.stiffness / MM,
            "hertz_lost_per_m": reach.per_mm.hertz / MM,
            "equal_stiffness_m": {k: None if v is None else v * MM for k, v in reach.equal.items()},
            "per_height": reach.per_height,
        },
        "grip": None
        if grip is None
        else {
            "knee_m": _band(grip.knee),
            "curve": [
                {"gripped_m": one.gripped_mm * MM, "stiffness": one.stiffness, "note": one.note}
                for one in grip.points
            ],
        },
        "assumptions": [assumption_record(one) for one in questions.assumptions],
    }


def _gain(gain: Gain) -> dict[str, Any]:
    return {
        "name": gain.name,
        "stiffness_n_per_m": gain.stiffness_n_per_m,
        "frequency_hz": gain.note_hz,
        "stiffness": gain.stiffness,
        "note": gain.note,
        "depth_limit": gain.limit,
    }


def _band(spread: Spread | None) -> dict[str, float] | None:
    """Return a band given in mm, in metres."""
    return None if spread is None else _ends(spread.low * MM, spread.likely * MM, spread.high * MM)


def _ends(low: float, likely: float, high: float) -> dict[str, float]:
    return {"low": low, "likely": likely, "high": high}
