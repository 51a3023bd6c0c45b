"""One change to a cut, rerun: what it starts from, what it gives, what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import Limit
from stickout.fem.cut.absorber import off_tune
from stickout.fem.cut.models import coarse_model, joined, matched, trimmed
from stickout.fem.cut.speed_margins import CutSpeeds, margins_at
from stickout.fem.cut.speed_verdict import QUIET_FROM
from stickout.fem.cut.verdict import Verdict
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup

# What a change costs: see ``CutLever.price``.
TIME, REACH, ROUGHNESS, PASSES, RUBS = "time", "reach", "roughness", "passes", "rubs"
SCREWS, CENTRE, RETUNE, WEAKER, STEADY = "screws", "centre", "retune", "weaker", "steady"
NEW_BAR, BOTH = "new bar", "both"


@dataclass(frozen=True)
class Outcome:
    """What a cut does at one speed: its likely margin [-], and the chance that it stays quiet."""

    margin: float
    p_quiet: float


@dataclass(frozen=True)
class CutLever:
    """One change, rerun.

    Attributes
    ----------
    key
        support, steady, speed, cutting_speed, overhang, nose_radius, depth, feed, rotation, absorber, blade,
        material, pair.
    change
        The key's new value, in the units of its name in the set-up: mm, degrees, rpm, Hz, or words;
        m/min for a cutting speed, the width in mm for a blade; the keys of a pair.
    before, after
        Margin and chance at the speed that the changes are told at, or at the slower one.
    price
        What it costs: time, reach, roughness, passes, rubs (the chip gets thinner than the edge can cut),
        screws (they must still bear), centre (a hole for it), steady (to set one), retune, weaker, new bar;
        both for a pair, whose parts tell.
    cost
        How many times the time, the roughness or the passes; 1 where the price is no number.
    parts
        The two changes of a pair, each with the outcome it has alone; empty for one change.
    """

    key: str
    change: float | str
    before: Outcome
    after: Outcome
    price: str
    cost: float = 1.0
    parts: tuple[CutLever, ...] = ()

    @property
    def factor(self) -> float:
        """Return margin after over margin before [-]."""
        return self.after.margin / self.before.margin

    @property
    def quiet(self) -> bool:
        """Return whether the change makes the cut quiet at that speed."""
        return self.after.p_quiet >= QUIET_FROM


@dataclass(frozen=True)
class Judged:
    """What the levers start from: set-up, cut, models of tool and work, dry limit, verdict, coarse model."""

    setup: Setup
    case: CutCase
    tool: ModalModel
    work: ModalModel | None
    limit: Limit
    verdict: Verdict
    base: ModalModel

    @property
    def before(self) -> Outcome:
        """Return the outcome as it is, at the speed that changes are told at."""
        stated = self.verdict.stated
        return Outcome(stated.margin.likely, stated.p_quiet)

    @property
    def both(self) -> ModalModel:
        """Return the model of the motion between tool and work."""
        return joined(self.tool, self.work)

    @cached_property
    def mesh_error(self) -> float:
        """Return the margin over that of the coarse mesh, both as it is [-]."""
        here = matched(self.base, self.base, tool=self.tool)
        return self.before.margin / self.margin(self.case, joined(here, self.work))

    def margin(self, case: CutCase, model: ModalModel) -> float:
        """Return the likely margin of a cut on a model at the stated speed."""
        stated = self.verdict.stated
        speeds = CutSpeeds((stated.speed_rpm,), np.array([stated.cutting_speed]), assumed=False)
        return float(margins_at(case, model, speeds=speeds).margin[0])

    def few(self, model: ModalModel) -> ModalModel:
        """Return a model of this tool and work with its high modes left to the residual: cheaper."""
        return trimmed(model, self.limit)

    def outcome(self, case: CutCase, model: ModalModel, *, fix: float = 1.0) -> Outcome:
        """Return the outcome of a cut on a model at the stated speed; ``fix`` makes its mesh good."""
        speed = self.verdict.stated.cutting_speed
        p_quiet = self.verdict.draws.chance_of(case, model, speed=speed, fix=fix)
        return Outcome(fix * self.margin(case, model), p_quiet)

    def other_tool(self, new: Setup) -> ModalModel:
        """Return the model of another tool before this work: from a coarse mesh, whose error is left in.

        A shorter or lighter bar sings higher: its absorber is taken as tuned anew by as much.
        """
        after = coarse_model(new)
        after = off_tune(after, tuning=np.asarray(after.omega[0] / self.base.omega[0]))
        return joined(matched(after, self.base, tool=self.tool), self.work)
