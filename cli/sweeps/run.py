"""Run a plan: what is done already stays, every further case goes into the journal, then the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Final

from cli.fingerprint import Code, code
from cli.progress import Bar, progress
from cli.run import tell
from cli.sweeps.count import spaced
from cli.sweeps.engine import Engine, Wanted, engine_for
from cli.sweeps.journal import Journal, journal_of
from cli.sweeps.plan import Plan, Planned
from cli.sweeps.table import columns, write_table
from fem.design.batches import Case, Outcome, batches_of
from fem.design.case_row import FAILED, row_of
from fem.errors import InputError, SolveError
from fem.nearest import Plain

CHUNK: Final = 20_000  # cases made at a time, so that any number of them fits into memory


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
    ours: Code = code()
    what = " ".join(astuple(ours))
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
        text = f"{spaced(done)} of {spaced(plan.count)} cases done.\n"
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
    told = f"{spaced(done)} of {spaced(count)} cases" + (f", {failed} failed" if failed else "")
    bar.set(done / count, told)


def _no_case(faulty: Sequence[Planned]) -> InputError:
    """Return the error of a plan none of whose cases can be set up."""
    given = Plain(f"{spaced(len(faulty))} cases, and none has a set-up that can be used. {faulty[0].reason}")
    return InputError(key="--vary", given=given, allowed="values that the set-up takes", mend="See there.")


def _resume_words(before: int, count: int) -> str:
    """Return what a resumed run starts with."""
    if before == 0:
        return "Nothing is there to go on with: starting from the first case."
    return f"Going on: {spaced(before)} of {spaced(count)} cases are done."


def _stop_words(journal: Journal, count: int) -> str:
    """Return what is kept, and how to go on."""
    return (
        f"{spaced(len(journal.done))} of {spaced(count)} cases are finished and kept in {journal.path}. "
        "The same command with --resume goes on."
    )
