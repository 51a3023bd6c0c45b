"""Many cases in few batches: cases that share their mechanics are solved together, each batch by itself.

A batch is the least piece of work that can be done anywhere: what comes out of it depends on the batch
alone, not on who does it, nor on which other batches were done before.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from stickout.fem.errors import InputError, SolveError
from stickout.fem.setup.checks import check_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study.frames import own_frame
from stickout.fem.study.of_revolution import is_of_revolution, revolved_bar
from stickout.fem.study.study import levels_of, mesh_of, run_study
from stickout.fem.sweep.case_answer import CaseAnswer, answer_of
from stickout.fem.sweep.factors import Stretch
from stickout.fem.sweep.family import family_answers
from stickout.fem.sweep.points import bare, likeness
from stickout.fem.sweep.revolved_terms import stretch_of_revolved
from stickout.fem.sweep.terms import stretch_of
from stickout.fem.units import MM

# A family costs about two and a half single solves before its first answer (computed here, DEVELOPERS.md).
LEAST: Final = 4
MOST: Final = 256
# No bar is squeezed to less than this part of the end of the longest that may be stretched.
_SHORTEST: Final = 0.2


@dataclass(frozen=True)
class Case:
    """One case: its number in the plan, from 0, and its set-up."""

    number: int
    setup: Setup


@dataclass(frozen=True)
class Batch:
    """Cases that are solved together, in the order of the plan; ``alike`` when by one family of spaces."""

    cases: Sequence[Case]
    alike: bool = False


@dataclass(frozen=True)
class Outcome:
    """What became of a case: its answer, or the reason why there is none."""

    number: int
    answer: CaseAnswer | None
    reason: str | None = None


def batches_of(cases: Iterable[Case]) -> list[Batch]:
    """Return the batches of a plan; the same plan always falls into the same batches.

    Parameters
    ----------
    cases
        The cases of the whole plan, those already done among them.

    Returns
    -------
    list of Batch
        Like cases together, at most ``MOST`` and at least ``LEAST`` of them; every other case alone.
    """
    groups: dict[str, list[Case]] = {}
    for case in cases:
        groups.setdefault(_likeness(case), []).append(case)
    return [batch for group in groups.values() for batch in _split(group)]


def solve_batch(batch: Batch, *, done: Collection[int] = ()) -> Iterator[Outcome]:
    """Yield what becomes of the cases of a batch; a case that fails does not keep the others.

    Parameters
    ----------
    batch
        The whole batch, so that a resumed run gives what an uninterrupted one gives.
    done
        Numbers of cases that need no answer any more.
    """
    if all(case.number in done for case in batch.cases):
        return
    together = _together(batch) if batch.alike else {}
    for case in batch.cases:
        if case.number not in done:
            answer = together.get(case.number)
            yield _alone(case) if answer is None else Outcome(case.number, answer)


def _likeness(case: Case) -> str:
    """Return what like cases share; one at fault, with an absorber, on a post or between centres is alone."""
    alone = f"case {case.number}"
    # How an absorber's place moves, and the inertia of the ride on a post, no family tells.
    other = case.setup.post is not None or case.setup.grip.at_both_ends
    if case.setup.absorber is not None or other:
        return alone
    try:
        check_setup(case.setup)
        own = own_frame(case.setup)[0]
        # Nor what a bar of very many shoulders leaves open.
        return alone if is_of_revolution(own) and revolved_bar(own).crowded else likeness(own)
    except (InputError, SolveError):
        return alone


def _split(group: Sequence[Case]) -> Iterator[Batch]:
    """Yield the batches of like cases: from the longest bar on, as far as its mesh can be squeezed."""
    left = sorted(group, key=lambda case: (-case.setup.bar.overhang_mm, case.number))
    while left:
        taken = _squeezable(left) if len(left) >= LEAST else left[:1]
        if len(taken) < LEAST:
            taken = left[:1]
        left = left[len(taken) :]
        cases = sorted(taken, key=lambda case: case.number)
        yield Batch(cases, alike=len(cases) >= LEAST)


def _squeezable(cases: Sequence[Case]) -> Sequence[Case]:
    """Return the first of some cases, the longest first, that the cells of the longest serve."""
    first, taken = cases[0].setup, cases[:MOST]
    if taken[-1].setup.bar.overhang_mm == first.bar.overhang_mm:
        return taken
    longest = bare(own_frame(first)[0])
    try:
        if is_of_revolution(longest):
            stretch: Stretch = stretch_of_revolved(revolved_bar(longest))
        else:
            stretch = stretch_of(mesh_of(longest, levels_of(longest).fineness[0]))
    except (InputError, SolveError):
        return cases[:1]
    least = stretch.start + _SHORTEST * (stretch.end - stretch.start)
    return [case for case in taken if case.setup.bar.overhang_mm * MM >= least]


def _together(batch: Batch) -> dict[int, CaseAnswer | None]:
    """Return the answers that a family gives; none where it cannot be solved as one."""
    try:
        answers = family_answers([case.setup for case in batch.cases])
    except (InputError, SolveError):
        return {}
    return {case.number: answer for case, answer in zip(batch.cases, answers, strict=True)}


def _alone(case: Case) -> Outcome:
    """Return the outcome of a case solved by itself."""
    try:
        return Outcome(case.number, answer_of(run_study(case.setup)))
    except (InputError, SolveError) as error:
        return Outcome(case.number, None, str(error))
