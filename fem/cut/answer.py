"""One result in, one answer on its cut out: limit, speeds, what limits, what to change, how sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import Limit, absolute_limit
from stickout.fem.cut.along import CutStation, WeakAngle, stations_cut, weak_angle
from stickout.fem.cut.dig_in import DigIn, dig_in_of
from stickout.fem.cut.judged import judged_result
from stickout.fem.cut.lever import CutLever, Judged
from stickout.fem.cut.leverage import Leverage, leverage
from stickout.fem.cut.levers import levers
from stickout.fem.cut.likely import spread_of
from stickout.fem.cut.low_speed import LowSpeed, low_speed
from stickout.fem.cut.pockets import Pockets, pockets_of
from stickout.fem.cut.shares import WorkSide, work_side
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.cut.spread import CutSpread
from stickout.fem.cut.spring_off import SpringOff, spring_off_of
from stickout.fem.cut.turned import TurnedBar, turned_bar
from stickout.fem.cut.verdict import Verdict
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import ClampedLoss
from stickout.fem.study.result import Result


@dataclass(frozen=True)
class SpeedLimit:
    """The limit at one spindle speed.

    ``waves`` is the number of waves on one turn of the work; cutting speed [m/s] and wavelength [m] are None
    where the diameter of the work is not known.
    """

    speed_rpm: float
    margin: float
    waves: float
    cutting_speed: float | None
    wavelength: float | None


@dataclass(frozen=True)
class CutAnswer:
    """The answer to one cut.

    Attributes
    ----------
    result
        The modes it rests on.
    case
        The cut.
    loss
        The loss factors that counted.
    tool, work, both
        Modal models of the tool, of the work (None without one), and of the motion between them.
    limit
        The limit at any speed, without rubbing, at the likely inputs.
    limiting
        Index in the result of the mode that limits; None where the work does.
    deepest
        Greatest depth that was looked at [m].
    saturated
        Whether twice the depth would cost less than a tenth of the margin: the nose limits, not the depth.
    speeds
        The limit at each of the user's speeds.
    spread
        Low, likely, high.
    levers
        What each change does at ``verdict.stated``, in the order in which a turner would try them.
    turned
        The margin at that speed against rotation of the bar.
    slow
        Low speed and light cuts.
    spring_off
        Static errors.
    side
        Tool against work; None without work.
    verdict
        What is said at each speed.
    bare_margin
        Likely margin at its worst speed without the absorber [-]; None where the tool has none.
    leverage
        Who is soft; None where neither work nor post is described.
    dig_in
        Whether a parting blade digs in; None for every other cut.
    along
        The cut at each place of the part, where the set-up names several; told is where it sings first.
    pockets
        What lies between the lobes; None where a turn holds many waves.
    angle
        The part at its weakest angle; None for a round one.
    """

    result: Result
    case: CutCase
    loss: ClampedLoss
    tool: ModalModel
    work: ModalModel | None
    both: ModalModel
    limit: Limit
    limiting: int | None
    deepest: float
    saturated: bool
    speeds: Sequence[SpeedLimit]
    spread: CutSpread
    levers: Sequence[CutLever]
    turned: TurnedBar
    slow: LowSpeed
    spring_off: SpringOff
    side: WorkSide | None
    verdict: Verdict
    bare_margin: float | None = None
    leverage: Leverage | None = None
    dig_in: DigIn | None = None
    along: tuple[CutStation, ...] = ()
    pockets: Pockets | None = None
    angle: WeakAngle | None = None

    @property
    def margin(self) -> float:
        """Return the likely margin at the worst of the speeds [-]."""
        return self.verdict.speeds[self.verdict.worst].margin.likely

    @property
    def chatter_hz(self) -> float:
        """Return the frequency of the chatter at the worst of the speeds [Hz]."""
        return self.verdict.speeds[self.verdict.worst].chatter_hz


def cut_answer(result: Result) -> CutAnswer:
    """Return everything the program can say on the cut of a result.

    Parameters
    ----------
    result
        Modes of a set-up with a fully described cut.

    Returns
    -------
    CutAnswer
        Limits, speeds, levers and bands. Two to four coarse FE solves are made for levers and grip.

    Raises
    ------
    InputError
        The cut is not described far enough, or a mode has no loss.
    SolveError
        A coarse solve failed.

    Source
    ------
    ``fem/THEORY.md`` names the source of each part.

    Examples
    --------
    A shorter bar is farther from chatter.

    >>> from stickout.fem import Bar, BedGrip, Cut, Setup, cut_answer, run_study
    >>> cut = Cut(operation="boring", work_material="mild steel", depth_mm=0.2, feed_mm=0.05,
    ...           nose_radius_mm=0.4, edge_angle_deg=93)
    >>> bars = [Bar(overhang_mm=overhang, diameter_mm=16, gripped_mm=60) for overhang in (80, 40)]
    >>> long, short = (cut_answer(run_study(Setup(bar=bar, grip=BedGrip(), cut=cut))).margin for bar in bars)
    >>> short > 2 * long
    True
    """
    whole = judged_result(result)
    setup = whole.likely.setup
    result = replace(result, setup=setup)
    found, verdict, case, limit = whole.likely, whole.verdict, whole.likely.case, whole.likely.limit
    speed, angle = verdict.stated.cutting_speed, setup.bar.rotation_deg
    turned = turned_bar(case, found.tool, work=found.work, rotation_deg=angle, speed=speed)
    judged = Judged(setup, case, found.tool, found.work, limit, verdict, whole.base)
    return CutAnswer(
        result=result,
        case=case,
        loss=found.loss,
        tool=found.tool,
        work=found.work,
        both=found.both,
        limit=limit,
        limiting=found.limiting,
        deepest=found.deepest,
        saturated=_saturated(case, found.both, limit),
        speeds=_speeds(verdict),
        spread=spread_of(found, whole.bands, levels=whole.levels),
        levers=levers(judged, turned_to=turned),
        turned=turned,
        slow=low_speed(case, found.both, limit=limit),
        spring_off=spring_off_of(setup, case, static=result.compliance),
        side=None if found.work is None else work_side(case, found.tool, work=found.work, limit=limit),
        verdict=verdict,
        bare_margin=_bare_margin(case, found.both),
        dig_in=dig_in_of(setup, case),
        leverage=leverage(result, found, base=whole.base, found=speed_margins(case, found.both)),
        along=_along(setup, case, found.tool),
        pockets=pockets_of(setup, case, tool=found.tool),
        angle=weak_angle(setup, case, tool=found.tool),
    )


def _along(setup: Setup, case: CutCase, tool: ModalModel) -> tuple[CutStation, ...]:
    """Return the cut at each place of the part, where the set-up names several."""
    several = setup.work is not None and setup.work.stations_mm
    return tuple(stations_cut(setup, case, tool=tool)) if several else ()


def _bare_margin(case: CutCase, both: ModalModel) -> float | None:
    """Return the margin with the absorber taken off, at its worst speed; None without one."""
    if both.attached is None:
        return None
    bare = speed_margins(case, replace(both, attached=None))
    return float(bare.margin[bare.worst])


def _saturated(case: CutCase, model: ModalModel, limit: Limit) -> bool:
    """Return whether twice the depth costs less than a tenth of the margin."""
    deeper = absolute_limit(model, case.matrix(np.asarray(2.0 * case.depth)))
    return bool(deeper.margin > 0.9 * limit.margin)


def _speeds(verdict: Verdict) -> list[SpeedLimit]:
    """Return the likely limit at each speed whose spindle speed is known."""
    known = verdict.diameter is not None
    return [
        SpeedLimit(
            one.speed_rpm,
            one.margin.likely,
            one.waves,
            one.cutting_speed if known else None,
            one.wavelength if known else None,
        )
        for one in verdict.speeds
        if one.speed_rpm is not None
    ]
