"""The short design questions that ``size`` answers beside its ranking, all but the cut's by hand formulas."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.hand_bar import hand_compliance_along
from stickout.fem.cut.stiffer import judged_at
from stickout.fem.errors import InputError
from stickout.fem.force.case import case_of
from stickout.fem.setup.bands import Band, Spread
from stickout.fem.setup.changes import slid
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.size.asked import Asked, check_asked
from stickout.fem.size.drilled import CrossHole, Drilled, drilled
from stickout.fem.size.gains import ASKED, Gain, material_gains, shape_gains
from stickout.fem.size.grip_length import GripCurve, grip_curve
from stickout.fem.size.hole import largest
from stickout.fem.size.job import SizeJob
from stickout.fem.size.options import ROUND_ONLY, Option, held_setup, shape_family, space_of
from stickout.fem.size.overhangs import (
    RULES,
    Slope,
    compliance_band,
    equal_stiffness_overhang,
    note_band,
    overhang_for_compliance,
    overhang_for_depth,
    overhang_per_height,
    slope,
)
from stickout.fem.size.size import SizeAnswer
from stickout.fem.size.stock import PRACTICE
from stickout.fem.study.result import Assumption
from stickout.fem.units import MM
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Bar, Edge

# The hole for a cutter, and where it lies, over the bar's size.
CUTTER_HOLE: Final = Band(0.3, 0.4, 0.5, PRACTICE)
FROM_END: Final = Band(0.4, 0.6, 1.0, PRACTICE)
LOAD_N: Final = 10.0
_OVERHANGS: Final = (0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 8.0)


@dataclass(frozen=True)
class Reach:
    """How far out: overhangs in mm.

    Attributes
    ----------
    rule
        The trade's rule for the bar's material, over its size; None where it has none.
    rule_compliance
        Deflection along the force at the rule's likely overhang [m/N]; None without a rule.
    load_n
        The force that the wanted spring is under.
    for_compliance, depth
        Overhang for the wanted spring, and for the wanted depth; None where not asked or out of reach.
    per_mm
        What a millimetre does.
    equal
        Material -> overhang at which it is as stiff as mild steel four times its size out.
    per_height
        Millimetres of overhang that a millimetre of height is worth; None for a round bar.
    """

    rule: Band | None
    rule_compliance: float | None
    load_n: float
    for_compliance: Spread | None
    depth: Spread | None
    per_mm: Slope
    equal: dict[str, float | None]
    per_height: float | None


@dataclass(frozen=True)
class Questions:
    """Answers for the best bar; None where a question does not arise.

    Attributes
    ----------
    asked
        What was asked for.
    materials
        Metals in this bar's place, against mild steel.
    shapes
        Shapes in the same room, against the round one; empty for a shank.
    holes
        A cutter hole front to back, and the same top to bottom; empty where the bar is not round, or too
        hard to drill.
    reach
        How far out.
    grip
        How long a grip; None for a rigid one.
    clearance
        Share of stiffness that a millimetre more room for chips costs; None for a shank, or without room.
    compliance_along, note
        The best bar's deflection along the force [m/N] and note [Hz] within the bands of seat and modulus.
    assumptions
        Numbers assumed for these answers alone.
    """

    asked: Asked
    materials: Sequence[Gain]
    shapes: Sequence[Gain]
    holes: Sequence[Drilled]
    reach: Reach
    grip: GripCurve | None
    clearance: float | None
    compliance_along: Spread
    note: Spread
    assumptions: Sequence[Assumption]


def design_questions(answer: SizeAnswer, asked: Asked) -> Questions:
    """Return the answers to the design questions for the best bar of a ranking.

    Parameters
    ----------
    answer
        The ranking.
    asked
        What the user wants.

    Raises
    ------
    InputError
        What is wanted cannot be used, or the cutter hole does not fit the bar.
    SolveError
        A coarse solve for the wanted depth failed.
    """
    job, option = answer.job, answer.best.option
    check_asked(job, asked)
    setup = option.setup
    holes, assumed = _holes(option, asked)
    gripped = setup.bar.size_mm
    return Questions(
        asked=asked,
        materials=material_gains(setup, job.materials),
        shapes=shape_gains(shape_family(job)) if job.boring else [],
        holes=holes,
        reach=_reach(answer, asked),
        grip=grip_curve(setup, size_mm=gripped) if setup.grip.bedding is not None else None,
        clearance=clearance_cost(job) if job.boring else None,
        compliance_along=_scaled(compliance_band(setup), answer.best.compliance_along),
        note=_scaled(note_band(setup), answer.best.note),
        assumptions=assumed,
    )


def _scaled(band: Spread, likely: float) -> Spread:
    """Return a band of the hand formulas about the solid's likely value."""
    return Spread(band.low / band.likely * likely, likely, band.high / band.likely * likely, {})


def _holes(option: Option, asked: Asked) -> tuple[list[Drilled], list[Assumption]]:
    """Return what a cutter hole costs, each way, and what was assumed for it."""
    if (
        option.setup.grip.at_both_ends
        or option.setup.bar.section != "round"
        or option.setup.bar_material.name in ROUND_ONLY
    ):
        return [], []
    size, assumed = option.size_mm, []
    across, back = asked.cutter_hole_mm, asked.hole_from_end_mm
    for name, band, given in (
        ("cutter hole", CUTTER_HOLE, across),
        ("its middle from the end", FROM_END, back),
    ):
        if given is None:
            low, likely, high = (one * size * MM for one in (band.low, band.likely, band.high))
            assumed.append(Assumption(name, Band(low, likely, high, band.source), "m"))
    wide = CUTTER_HOLE.likely * size if across is None else across
    at = max(FROM_END.likely * size, 0.5 * wide) if back is None else back
    return [drilled(option.setup, CrossHole(wide, at, way)) for way in ("y", "z")], assumed


def _reach(answer: SizeAnswer, asked: Asked) -> Reach:
    """Return how far out the best bar may stick."""
    job, option = answer.job, answer.best.option
    setup, size = option.setup, option.size_mm
    rule = RULES.get(setup.bar_material.name, RULES["steel"] if "steel" in setup.bar_material.name else None)
    load = LOAD_N if job.cut is None else float(np.linalg.norm(case_of(job.cut).on_tool))
    wanted, equal = asked.spring_off_mm, {}
    if job.boring:
        plain = slid(setup, RULES["steel"].likely * size)
        for material in (*(MATERIALS[name] for name in ASKED), *job.materials):
            equal[material.name] = equal_stiffness_overhang(plain, material, size_mm=size)
    return Reach(
        rule=rule,
        rule_compliance=None if rule is None else hand_compliance_along(slid(setup, rule.likely * size)),
        load_n=load,
        for_compliance=None
        if wanted is None
        else overhang_for_compliance(setup, wanted * MM / load, size_mm=size),
        depth=_depth_reach(answer, asked),
        per_mm=slope(setup),
        equal=equal,
        per_height=None if job.boring else overhang_per_height(setup),
    )


def _depth_reach(answer: SizeAnswer, asked: Asked) -> Spread | None:
    """Return the overhang up to which the wanted depth stays quiet, by the bar's stiffness at each [mm]."""
    best = answer.best
    if asked.wanted_depth_mm is None or best.result is None or best.cut is None:
        return None
    setup, size = best.option.setup, best.option.size_mm
    overhangs = [share * size for share in _OVERHANGS]
    now = hand_compliance_along(setup)
    factors = [now / hand_compliance_along(slid(setup, one)) for one in overhangs]
    depths = [one.depth for one in judged_at(best.result, factors)]
    return overhang_for_depth(overhangs, depths, wanted=asked.wanted_depth_mm * MM)


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
    return hand_compliance_along(held_setup(held, job.materials[0], bar=bar, edge=edge))
