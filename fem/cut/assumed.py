"""Every number that the answer on a cut assumed beyond the modes, with bands and sources."""

from __future__ import annotations

from typing import Final

from stickout.fem.beam.thin_wall import WALL_LOSS, is_thin
from stickout.fem.beam.work_holding import assumed_springs
from stickout.fem.cut.absorber import DAMPING, SOURCE, TUNING
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.flank import CLEARANCE_DEG, FRICTION
from stickout.fem.cut.low_speed import edge_radius
from stickout.fem.cut.spread import GRIP, PERFECT_BAND
from stickout.fem.force.case import CutCase
from stickout.fem.setup.bands import USER_SOURCE, Band
from stickout.fem.setup.work_parts import Work
from stickout.fem.study.clamped_loss import CLAMPED, seat_loss
from stickout.fem.study.result import Assumption

THRUST: Final = Band(0.3, 0.4, 0.5, "common practice, no source: sharp tools")


def force_assumptions(case: CutCase) -> list[Assumption]:
    """Return what the force model assumed, with bands and sources."""
    law, material = case.law, case.material
    push = case.cut.push
    sources = (material.source, THRUST.source) if push is None else (push.source, push.source)
    low, high = (law.kc11 * factor for factor in case.force_band)
    out = [Assumption("cutting force per area at 1 mm chip", Band(low, law.kc11, high, sources[0]), "Pa")]
    low, high = (law.thrust_ratio * factor for factor in case.thrust_band)
    thrust = Band(low, law.thrust_ratio, high, sources[1])
    out.append(Assumption("thrust over cutting force", thrust, ""))
    radius = edge_radius(case.cut)
    if radius.source != USER_SOURCE:
        out.append(Assumption("rounding of the edge", radius, "m"))
    return out


def holding_assumptions(work: Work) -> list[Assumption]:
    """Return the springs that hold the work and that nobody measured."""
    return [
        Assumption(f"{one.name}, under the work", one.band, "N m/rad" if one.tilts else "N/m")
        for one in assumed_springs(work)
    ]


def cut_assumptions(answer: CutAnswer) -> list[Assumption]:
    """Return what the limit assumed beyond the modes, with bands and sources."""
    out = force_assumptions(answer.case)
    if not answer.loss.given:
        out.append(Assumption("loss factor of the clamping", seat_loss(answer.result.setup), ""))
    grip = answer.spread.bands[GRIP]
    if grip == PERFECT_BAND:
        source = "common practice, no source: the note is up to 30 % lower"
        out.append(
            Assumption("stiffness over that of a perfect grip", Band(grip.low, 1.0, grip.high, source), "")
        )
    out += [
        Assumption(f"{name} over the one given", Band(band.low, 1.0, band.high, SOURCE), "")
        for name, band in answer.spread.bands.items()
        if name in (TUNING, DAMPING)
    ]
    work = answer.result.setup.work
    if work is not None:
        out += holding_assumptions(work)
        out.append(Assumption("work loss factor", CLAMPED, ""))
        if is_thin(work) and work.held == "chuck":
            source = "common practice, no source: what three jaws hold of a ring"
            out.append(Assumption("thin wall loss factor", WALL_LOSS, ""))
            out.append(Assumption("hold of the thin wall, 0 free, 1 full", Band(0.0, 0.5, 1.0, source), ""))
    cut = answer.case.cut
    if cut.edge_land_mm is None:
        out.append(Assumption("wave that the flank rubs flat", answer.verdict.wave_star, "m"))
    out.append(Assumption("friction of the flank", FRICTION, ""))
    if cut.clearance_deg is None:
        out.append(Assumption("clearance behind the edge", CLEARANCE_DEG, "°"))
    return out
