"""Many cases in few batches: cases that share their mechanics are solved together, each batch by itself.

A batch is the least piece of work that can be done anywhere: what comes out of it depends on the batch
alone, not on who does it, nor on which other batches were done before.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from fem.design.case_answer import CaseAnswer, answer_of
from fem.errors import InputError, SolveError
from fem.setup import Setup
from fem.study import run_study


@dataclass(frozen=True)
class Case:
    """One case: its number in the plan, from 0, and its set-up."""

    number: int
    setup: Setup


@dataclass(frozen=True)
class Batch:
    """Cases that are solved together, in the order of the plan."""

    cases: Sequence[Case]


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
    """
    return [Batch([case]) for case in cases]


def solve_batch(batch: Batch, *, done: Collection[int] = ()) -> Iterator[Outcome]:
    """Yield what becomes of the cases of a batch; a case that fails does not keep the others.

    Parameters
    ----------
    batch
        The whole batch, so that a resumed run gives what an uninterrupted one gives.
    done
        Numbers of cases that need no answer any more.
    """
    for case in batch.cases:
        if case.number not in done:
            yield _outcome(case)


def _outcome(case: Case) -> Outcome:
    """Return the outcome of a case solved by itself."""
    try:
        return Outcome(case.number, answer_of(run_study(case.setup)))
    except (InputError, SolveError) as error:
        return Outcome(case.number, None, str(error))
