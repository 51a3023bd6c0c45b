"""The design questions of ``size`` as plain data, SI throughout."""

from __future__ import annotations

from typing import Any

from stickout.fem.records.bands import band_record
from stickout.fem.records.result import assumption_record
from stickout.fem.setup.bands import Spread
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
        "spring_m_per_n": band_record(questions.compliance_along),
        "frequency_hz": band_record(questions.note),
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
            "rule": None if reach.rule is None else band_record(reach.rule),
            "rule_spring_m_per_n": reach.rule_compliance,
            "load_n": reach.load_n,
            "for_spring_m": _in_metres(reach.for_compliance),
            "for_depth_m": _in_metres(reach.depth),
            "stiffness_lost_per_m": reach.per_mm.stiffness / MM,
            "hertz_lost_per_m": reach.per_mm.hertz / MM,
            "equal_stiffness_m": {k: None if v is None else v * MM for k, v in reach.equal.items()},
            "per_height": reach.per_height,
        },
        "grip": None
        if grip is None
        else {
            "knee_m": band_record(grip.knee, scale=MM),
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


def _in_metres(spread: Spread | None) -> dict[str, float | None] | None:
    """Return a band given in mm, in metres."""
    return None if spread is None else band_record(spread, scale=MM)
