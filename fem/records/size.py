"""The answer of ``size`` as plain data, SI throughout."""

from __future__ import annotations

from typing import Any

from stickout.fem.force.loading import loading
from stickout.fem.records.bands import band_record
from stickout.fem.records.cut_verdict import speeds_record
from stickout.fem.records.result import assumption_record
from stickout.fem.records.setup import setup_record
from stickout.fem.size.job import Bore, SizeJob
from stickout.fem.size.size import Ranked, SizeAnswer
from stickout.fem.units import MM


def size_record(answer: SizeAnswer, *, tool: str, version: str) -> dict[str, Any]:
    """Return the content of the file that ``size --json`` writes.

    Parameters
    ----------
    answer
        The ranked bars.
    tool, version
        Name and version of the program, for the head of the file.

    Returns
    -------
    dict
        ``job`` (kind, sizes, room, holder, materials, units); ``force`` (direction on the tool, and how it is
        known); ``bars``, the stiffest first, each with ``shape``, ``made`` (largest or stock), ``setup``,
        ``place`` (axis from the hole's axis, gaps; null for a shank), ``spring_m_per_n``,
        ``stiffness_n_per_m`` and ``frequency_hz`` with ``from`` (solid or hand formula), the ``hand`` numbers
        beside it, ``margin`` and ``depth_limit_m`` (low, likely, high; null without a cut, a null end is
        without limit) at the worst speed, ``speeds`` as ``cut`` tells them; ``assumptions``.
    """
    job = answer.job
    push = loading(job.working_cut)
    return {
        "tool": tool,
        "version": version,
        "job": job_record(job),
        "force": {"direction": push.direction.tolist(), "from": push.how},
        "bars": [_bar(one) for one in answer.bars],
        "assumptions": [assumption_record(one) for one in answer.assumptions],
    }


def job_record(job: SizeJob) -> dict[str, Any]:
    """Return the job as it was taken, lengths in metres."""
    kind = "bore" if isinstance(job.work, Bore) else "shank"
    sizes = {f"{k.removesuffix('_mm')}_m": None if v is None else v * MM for k, v in vars(job.work).items()}
    return {
        "kind": kind,
        **sizes,
        "clearance_m": job.clearance_mm * MM,
        "cutter_m": job.cutter_mm * MM,
        "raised_m": job.room.raised_mm * MM,
        "overhang_m": job.overhang_mm * MM,
        "holder_m": None if job.holder.bore_mm is None else job.holder.bore_mm * MM,
        "grip": job.holder.style,
        "materials": [one.name for one in job.materials],
        "units": job.units,
    }


def _bar(one: Ranked) -> dict[str, Any]:
    """Return one bar."""
    place = one.option.place
    return {
        "shape": one.option.shape,
        "made": one.option.made,
        "size_m": one.option.size_mm * MM,
        "sleeve_m": None if one.option.sleeve_mm is None else one.option.sleeve_mm * MM,
        "setup": setup_record(one.option.setup),
        "place": None
        if place is None
        else {
            "axis_m": [place.y, place.z],
            "front_m": place.gaps.front,
            "behind_m": place.gaps.behind,
            "least_m": place.gaps.least,
        },
        "from": "hand formula" if one.result is None else "solid",
        "spring_m_per_n": one.compliance_along,
        "stiffness_n_per_m": one.stiffness,
        "frequency_hz": one.note,
        "frequency_error": None if one.result is None else float(one.result.frequency_error[0]),
        "hand": {"spring_m_per_n": one.hand_compliance_along, "frequency_hz": one.hand_note},
        "margin": None if one.cut is None else band_record(one.cut.margin),
        "depth_limit_m": None if one.cut is None else band_record(one.cut.depth),
        "speeds": None if one.cut is None else speeds_record(one.cut.verdict)["speeds"],
    }
