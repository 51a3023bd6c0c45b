"""The result file of ``work``: notes, stiffness along the part, worst place; SI throughout."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from stickout.fem.cut.along import CutStation
from stickout.fem.cut.assumed import holding_assumptions
from stickout.fem.records.cut import station_record
from stickout.fem.records.result import assumption_record
from stickout.fem.records.setup import setup_record
from stickout.fem.setup.parts import Setup
from stickout.fem.work.answer import WorkAnswer


def work_record(
    answer: WorkAnswer, cuts: Sequence[CutStation] = (), *, tool: str, version: str
) -> dict[str, Any]:
    """Return the answer on a part as plain data.

    Parameters
    ----------
    answer
        The answer.
    cuts
        The cut at places along the part.
    tool, version
        Who writes.
    """
    setup: Setup = answer.setup
    low, likely, high = answer.stiffness
    held = holding_assumptions(setup.work) if setup.work is not None else []
    return {
        "tool": tool,
        "version": version,
        "title": setup.title,
        "setup": setup_record(setup),
        "assumptions": [assumption_record(one) for one in held],
        "modes": [{"frequency_hz": float(one), "kind": "bending"} for one in answer.frequency_hz],
        "stations": [
            {
                "at_m": float(at),
                "stiffness_n_per_m": float(k),
                "band_n_per_m": {"low": float(a), "likely": float(k), "high": float(b)},
                "diameter_error_m": float(form),
                "own_share": float(own),
            }
            for at, a, k, b, form, own in zip(
                answer.stations, low, likely, high, answer.form, answer.own, strict=True
            )
        ],
        "solid": None
        if answer.solid is None
        else {
            "worst_stiffness_n_per_m": answer.solid.stiffness,
            "stiffness_error": answer.solid.stiffness_error,
            "frequency_hz": answer.solid.note_hz,
            "frequency_error": answer.solid.note_error,
        },
        "rings_end_held": [
            {"frequency_hz": one.note_hz, "waves": one.waves, "frequency_error": one.error}
            for one in answer.rings
        ],
        "worst_at_m": float(answer.stations[answer.worst]),
        "cuts": [station_record(one) for one in cuts],
        "form": {"push_n": answer.push, "name": answer.form_name},
        "supports": [
            {"held": one.what, "least_stiffness_n_per_m": one.least, "frequency_hz": one.note_hz}
            for one in answer.bought
        ],
    }
