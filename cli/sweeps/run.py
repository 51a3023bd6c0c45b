"""Run a plan: what is done already stays, every further case goes into the journal, then the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Final

from cli.fingerprint import code
from cli.progress import Bar, progress
from cli.run import tell
from cli.sweeps.engine import Engine, Wanted, engine_for, workers_for
from cli.sweeps.journal import Journal, journal_of
from cli.sweeps.plan import Plan, Planned
from cli.sweeps.table import columns, write_table
from fem.design.batches import Case, Outcome, batches_of
from fem.design.case_row import FAILED, row_of
from fem.errors import InputError, SolveError
from fem.nearest import Plain

MANY: Final = 20_000  # cases above which --yes must be given
CHUNK: Final = 20_000  # cases made at a time, so that any number of them fits into memory
_A_CASE_S: Final = (0.02, 1.0)  # what a case may take on one core, measured on the examples


@dataclass(frozen=True)
class Finished:
    """A plan that was run to its end: what to say, and how many cases have no answer."""

    text: str
    done: int
    failed: int
    reason: str | None

    def check(self) -> None:
        """Check that there is any answer at all.

        Raises
        ------
        SolveError
            Every case failed.
        """
        if not self.done:
            raise SolveError(f"None of the {self.failed} cases has an answer. The first: {self.reason}")


def check_count(plan: Plan, wanted: Wanted, *, yes: bool) -> None:
    """Check that a plan with very many cases is meant.

    Raises
    ------
    InputError
        It has more than ``MANY`` cases, and nobody said yes.
    """
    if plan.count <= MANY or yes:
        return
    workers = workers_for(wanted, plan.count)
    low, high = (_time_words(plan.count * each / workers) for each in _A_CASE_S)
    where = "on the cluster: by each of its workers" if wanted.cluster else f"with {_processes(workers)}"
    given = Plain(f"{_spaced(plan.count)} cases, {low} to {high} of work {where}")
    mend = "Add --yes if that is what you want; otherwise take wider steps, or --cases for a sample."
    raise InputError(
        key="--vary", given=given, allowed=f"at most {_spaced(MANY)} cases without --yes", mend=mend
    )


def run_plan(plan: Plan, out: Sequence[Path], *, wanted: Wanted, resume: bool) -> Finished:
    """Run a plan and write its tables.

    Parameters
    ----------
    plan
        The plan.
    out
        The tables to be; the journal lies beside the first.
    wanted
        Who is to solve.
    resume
        Whether to go on with a journal.

    Raises
    ------
    InputError
        The journal is in the way or another's, the cluster does not serve, the disk is full, or no case has
        a set-up that can be used.
    SolveError
        The scheduler went away.
    """
    names = columns(plan)
    kept = [name for name in names if name not in ("case", *plan.keys)]
    what = " ".join(astuple(code()))
    with journal_of(plan, out[0], columns=kept, code=what, resume=resume) as journal:
        before = len(journal.done)
        if resume:
            tell(_resume_words(before, plan.count))
        try:
            if before < plan.count:
                with engine_for(wanted, plan.count - before) as engine, progress("Solving") as bar:
                    _solve(plan, journal, engine, bar)
            for one in out:
                write_table(plan, journal, out=one)
        except (KeyboardInterrupt, SolveError, InputError):
            if journal.done:
                tell(_stop_words(journal, plan.count))
            raise
        failed = [row["reason"] for _, row in journal.rows(range(plan.count)) if row["status"] == FAILED]
        done = plan.count - len(failed)
        text = f"{_spaced(done)} of {_spaced(plan.count)} cases done.\n"
        return Finished(text, done, len(failed), str(failed[0]) if failed else None)


def _solve(plan: Plan, journal: Journal, engine: Engine, bar: Bar) -> None:
    """Solve what is left of a plan."""
    failed = 0
    for start in range(0, plan.count, CHUNK):
        made = list(plan.cases(start, min(start + CHUNK, plan.count)))
        faulty = [one for one in made if one.setup is None]
        if len(faulty) == plan.count:
            raise _no_case(faulty)
        for one in faulty:
            journal.add(one.number, row_of(Outcome(one.number, None, one.reason), setup=None))
        failed += len(faulty)
        _show(bar, len(journal.done), plan.count, failed)
        batches = batches_of([Case(one.number, one.setup) for one in made if one.setup is not None])
        for row in engine.solve(batches, done=set(journal.done)):
            journal.add(row.number, row.row)
            failed += row.row["status"] == FAILED
            _show(bar, len(journal.done), plan.count, failed)


def _show(bar: Bar, done: int, count: int, failed: int) -> None:
    """Move the bar."""
    told = f"{_spaced(done)} of {_spaced(count)} cases" + (f", {failed} failed" if failed else "")
    bar.set(done / count, told)


def _no_case(faulty: Sequence[Planned]) -> InputError:
    """Return the error of a plan none of whose cases can be set up."""
    given = Plain(f"{_spaced(len(faulty))} cases, and none has a set-up that can be used. {faulty[0].reason}")
    return InputError(key="--vary", given=given, allowed="values that the set-up takes", mend="See there.")


def _resume_words(before: int, count: int) -> str:
    """Return what a resumed run starts with."""
    if before == 0:
        return "Nothing is there to go on with: starting from the first case."
    return f"Going on: {_spaced(before)} of {_spaced(count)} cases are done."


def _stop_words(journal: Journal, count: int) -> str:
    """Return what is kept, and how to go on."""
    return (
        f"{_spaced(len(journal.done))} of {_spaced(count)} cases are finished and kept in {journal.path}. "
        "The same command with --resume goes on."
    )


def _processes(workers: int) -> str:
    """Return "one process" or "2 processes"."""
    return "one process" if workers == 1 else f"{workers} processes"


def _spaced(count: int) -> str:
    """Return a count with a blank before every three digits: "10 000 000"."""
    return f"{count:,}".replace(",", " ")


def _time_words(seconds: float) -> str:
    """Return a time roughly: "3 minutes", "2 hours", "5 days"."""
    for size, word in ((86_400.0, "day"), (3600.0, "hour"), (60.0, "minute")):
        if seconds >= size:
            amount = round(seconds / size)
            return f"{_spaced(amount)} {word}{'' if amount == 1 else 's'}"
    return "a minute"
