"""The short design questions that ``size`` answers beside its ranking."""

from __future__ import annotations

from dataclasses import replace

from fem.design.hand_bar import hand_spring
from fem.design.hole import largest
from fem.design.job import SizeJob
from fem.design.options import held_setup, space_of
from fem.errors import InputError
from fem.units import MM
from meshes.outlines import Outline
from meshes.parts import Bar, Edge


def largest_round(job: SizeJob) -> float:
    """Return the largest round bar that the hole of a job lets in [mm]: the hole less both gaps.

    Source
    ------
    ``bore - cutter - clearance - 2 |raised|`` (computed here).
    """
    return largest(lambda size: Outline(radius=size / 2), space_of(job)) / MM


def clearance_cost(job: SizeJob, *, step_mm: float = 1.0) -> float | None:
    """Return the share of stiffness that a step more room for chips costs the largest round bar.

    Parameters
    ----------
    job
        A hole to bore.
    step_mm
        How much more room.

    Returns
    -------
    float or None
        Share lost [-] by hand formulas, the first material; None where the step leaves no bar.

    Source
    ------
    k ~ D^4 on a rigid root; less where the seat gives (computed here).
    """
    less = replace(job, room=replace(job.room, clearance_mm=job.clearance_mm + step_mm))
    try:
        springs = [_round_spring(job, largest_round(one), gripped=largest_round(job)) for one in (job, less)]
    except InputError:
        return None  # the room is gone
    return 1 - springs[0] / springs[1]


def _round_spring(job: SizeJob, size_mm: float, *, gripped: float) -> float:
    """Return the spring of a round bar of a job; the gripped length is that of a bar of another size."""
    bar = Bar(overhang_mm=job.overhang_mm, diameter_mm=size_mm)
    held = replace(job, holder=replace(job.holder, gripped_mm=job.gripped_for(gripped)))
    edge = Edge(offset_y_mm=size_mm / 2 + job.cutter_mm)
    return hand_spring(held_setup(held, job.materials[0], bar=bar, edge=edge))
