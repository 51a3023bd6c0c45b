"""The stiffest bar for a job: many ranked by hand formulas, the best of them solved as solids."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.beam.hand_bar import hand_compliance_along, hand_note
from stickout.fem.cut.assumed import force_assumptions
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.cut.spread import PERFECT_BAND
from stickout.fem.force.case import case_of
from stickout.fem.setup.bands import Band, Spread
from stickout.fem.size.job import SizeJob, check_job
from stickout.fem.size.job_assumed import job_assumptions
from stickout.fem.size.options import STOCK, Option, options
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.fem.study.result import Assumption, Result
from stickout.fem.study.study import run_study

SHOWN: Final = 6
PERFECT: Final = Band(PERFECT_BAND.low, 1.0, 1.0, "common practice, no source: notes up to 30 % lower")
_CUT_MODES = 4


@dataclass(frozen=True)
class Ranked:
    """One bar with what is known of it.

    Attributes
    ----------
    option
        The bar.
    hand_compliance_along
        Deflection of the edge along the force by beam formulas [m/N].
    hand_note
        First bending note by beam formulas [Hz].
    result
        The solid's answer; None where only the hand formulas were used.
    cut
        What the command ``cut`` says of the job's cut; None without a cut or a solid.
    """

    option: Option
    hand_compliance_along: float
    hand_note: float
    result: Result | None = None
    cut: JudgedCut | None = None

    @property
    def compliance_along(self) -> float:
        """Return the deflection of the edge along the force [m/N], the solid's where there is one."""
        return self.hand_compliance_along if self.result is None else self.result.compliance_along

    @property
    def stiffness(self) -> float:
        """Return force over deflection along the force [N/m]."""
        return 1 / self.compliance_along

    @property
    def note(self) -> float:
        """Return the first bending note [Hz], the solid's where there is one."""
        return self.hand_note if self.result is None else float(self.result.frequency_hz[0])

    @property
    def depth(self) -> Spread | None:
        """Return the depth limit of the job's cut [m]: inf where no depth limits."""
        return None if self.cut is None else self.cut.depth


@dataclass(frozen=True)
class SizeAnswer:
    """Bars for a job, the stiffest first: those solved as solids, then the others by hand formulas."""

    job: SizeJob
    bars: Sequence[Ranked]
    assumptions: Sequence[Assumption]

    @property
    def best(self) -> Ranked:
        """Return the stiffest bar."""
        return self.bars[0]

    @property
    def solved(self) -> list[Ranked]:
        """Return the bars that were solved as solids."""
        return [one for one in self.bars if one.result is not None]

    @property
    def best_stock(self) -> Ranked | None:
        """Return the stiffest bar of a size that is sold."""
        return next((one for one in self.bars if one.option.made == STOCK), None)


def size_bars(
    job: SizeJob, *, shown: int = SHOWN, progress: Callable[[str], None] | None = None
) -> SizeAnswer:
    """Return the bars for a job, the stiffest along the cutting force first.

    Parameters
    ----------
    job
        The hole or shoulder, the room, holder, materials and cut.
    shown
        How many of the best are solved as solids, one at least; the best of a sold size is always among them.
    progress
        Called with a few words before each solve.

    Returns
    -------
    SizeAnswer
        All bars; spring and note of the best ones by finite elements, of the others by beam formulas.

    Raises
    ------
    InputError
        The job's numbers cannot be used, or leave no room for a bar.
    SolveError
        A computation failed.
    """
    check_job(job)
    by_hand = sorted(
        (Ranked(one, hand_compliance_along(one.setup), hand_note(one.setup)) for one in options(job)),
        key=lambda one: one.hand_compliance_along,
    )
    chosen = by_hand[: max(shown, 1)]
    sold = next((one for one in by_hand if one.option.made == STOCK), None)
    if sold is not None and sold not in chosen:
        chosen = [*chosen[:-1], sold] if len(chosen) > 1 else [*chosen, sold]
    solved = sorted((_solved(one, job, progress) for one in chosen), key=lambda one: one.compliance_along)
    rest = [one for one in by_hand if one not in chosen]
    return SizeAnswer(job, [*solved, *rest], _assumed(job, solved))


def _solved(one: Ranked, job: SizeJob, progress: Callable[[str], None] | None) -> Ranked:
    """Return a bar with its solid solved, and with the verdict on the cut where there is one."""
    if progress:
        progress(f"{one.option.setup.bar_material.name}, {one.option.shape}")
    setup = one.option.setup
    if job.cut is None:
        return replace(one, result=run_study(setup))
    result = run_study(replace(setup, solve=replace(setup.solve, modes=_CUT_MODES)))
    return replace(one, result=result, cut=judged_result(result))


def _assumed(job: SizeJob, solved: Sequence[Ranked]) -> list[Assumption]:
    """Return every number assumed for the bars shown, once."""
    found = {(one.name, one.band): one for one in job_assumptions(job)}
    if job.cut is not None:
        added = [*force_assumptions(case_of(job.cut)), Assumption("loss factor of the clamping", CLAMPED, "")]
        if job.holder.style == "rigid":
            added.append(Assumption("stiffness over that of a perfect grip", PERFECT, ""))
        found |= {(one.name, one.band): one for one in added}
    for bar in solved:
        found |= {(one.name, one.band): one for one in (bar.result.assumptions if bar.result else ())}
    return list(found.values())
