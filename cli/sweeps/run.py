"""Run a plan: what is done already stays, every further case goes into the journal, then the table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Final

from stickout.cli.fingerprint import Code, code
from stickout.cli.outputs import writing
from stickout.cli.progress import Bar, progress
from stickout.cli.run import tell
from stickout.cli.sweeps.answer import sweep_text
from stickout.cli.sweeps.count import spaced
from stickout.cli.sweeps.engine import Wanted, engine_for
from stickout.cli.sweeps.finished import is_finished, mark_finished
from stickout.cli.sweeps.gathered import Gathered, gathered
from stickout.cli.sweeps.journal import Journal, header_of, journal_of, journal_path
from stickout.cli.sweeps.labels import BANDS, MARGIN, NOTE, SPRING
from stickout.cli.sweeps.limits import Bound, limits_that_count
from stickout.cli.sweeps.plan import Plan, Planned
from stickout.cli.sweeps.table import columns, rows, write_table
from stickout.cli.sweeps.work import undone
from stickout.fem.errors import InputError, SolveError
from stickout.fem.nearest import Plain
from stickout.fem.sweep.batches import Batch, Case, Outcome, batches_of
from stickout.fem.sweep.case_row import FAILED, OVERHANG_OVER_SIZE, row_of

CHUNK: Final = 20_000  # cases made at a time, so that any number of them fits into memory


@dataclass(frozen=True)
class Wish:
    """What is wanted of a finished plan.

    Attributes
    ----------
    out
        The tables to be; the journal lies beside the first.
    plot
        The picture to be, if any.
    show
        Columns to draw in it; none for the usual ones.
    limits
        Limits to draw and to look for.
    """

    out: Sequence[Path]
    plot: Path | None = None
    show: Sequence[str] = ()
    limits: Sequence[Bound] = ()


def run_plan(plan: Plan, wish: Wish, *, wanted: Wanted, resume: bool) -> str:
    """Run a plan, write its tables and its picture, and return the answer.

    Parameters
    ----------
    plan
        The plan.
    wish
        What is wanted of it.
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
        The scheduler went away, or no case has an answer; the tables are written all the same then.
    """
    names = columns(plan)
    kept = [name for name in names if name not in ("case", *plan.keys)]
    ours: Code = code()
    what = " ".join(astuple(ours))
    header = header_of(plan, columns=kept, code=what)
    begun = journal_path(wish.out[0]).exists()
    if resume and wish.plot is None and not begun and is_finished(header, wish.out):
        return _nothing_to_do(wish.out, plan.count)
    with journal_of(plan, wish.out[0], columns=kept, code=what, resume=resume) as journal:
        before = len(journal.done)
        if resume:
            tell(_resume_words(before, plan.count))
        try:
            if before < plan.count:
                with progress("Solving") as bar:
                    _solve(plan, journal, wanted, bar)
            for one in wish.out:
                write_table(plan, journal, out=one)
        except (KeyboardInterrupt, SolveError, InputError):
            if journal.done:
                tell(_stop_words(journal, plan.count))
            raise
        mark_finished(header, wish.out)
        found = gathered(plan, rows(plan, journal), columns=_needed(wish))
    return _told(found, wish)


def _needed(wish: Wish) -> Iterator[str]:
    """Yield the columns that words and picture need."""
    yield from ("reason", "accurate", OVERHANG_OVER_SIZE)
    for column in (SPRING, NOTE, MARGIN, *wish.show, *(limit.column for limit in wish.limits)):
        yield from (column, *BANDS.get(column, ()))


def _told(found: Gathered, wish: Wish) -> str:
    """Draw the picture, and return the answer."""
    if not found.done:
        reason = next(iter(found.columns["reason"]))
        raise SolveError(f"None of the {spaced(found.count)} cases has an answer. The first: {reason}")
    limits = limits_that_count(found, wish.limits)
    if wish.plot is not None:
        from stickout.cli.show.plots.sweep_plot import draw_sweep  # here: most runs draw nothing

        with writing(wish.plot, key="--plot") as part:
            draw_sweep(found, part, columns=_shown(found, wish), limits=limits)
    return sweep_text(found, limits, out=wish.out, plot=wish.plot)


def _shown(found: Gathered, wish: Wish) -> list[str]:
    """Return the columns to draw: those asked for, or spring, note and margin, and what a limit names."""
    if wish.show:
        return list(wish.show)
    field = found.along is None and len(found.measured) == 2
    usual = [MARGIN, SPRING] if field else [SPRING, NOTE, MARGIN]
    named = [limit.column for limit in wish.limits]
    return [column for column in dict.fromkeys([*usual, *named]) if found.has(column)]


def _solve(plan: Plan, journal: Journal, wanted: Wanted, bar: Bar) -> None:
    """Solve what is left of a plan."""
    first = _chunk(plan, 0)
    if len(first.faulty) == plan.count:
        raise _no_case(first.faulty)
    failed = 0
    with engine_for(wanted, undone(first.batches, done=journal.done)) as engine:
        for start in range(0, plan.count, CHUNK):
            chunk = first if start == 0 else _chunk(plan, start)
            for one in chunk.faulty:
                journal.add(one.number, row_of(Outcome(one.number, None, one.reason), setup=None))
            failed += len(chunk.faulty)
            _show(bar, len(journal.done), plan.count, failed)
            for row in engine.solve(chunk.batches, done=set(journal.done)):
                journal.add(row.number, row.row)
                failed += row.row["status"] == FAILED
                _show(bar, len(journal.done), plan.count, failed)


@dataclass(frozen=True)
class _Chunk:
    """Some cases of a plan: those without a set-up, and the batches of the others."""

    faulty: Sequence[Planned]
    batches: Sequence[Batch]


def _chunk(plan: Plan, start: int) -> _Chunk:
    """Return the cases of a plan from a number on, as many as are made at a time."""
    made = list(plan.cases(start, min(start + CHUNK, plan.count)))
    cases = [Case(one.number, one.setup) for one in made if one.setup is not None]
    return _Chunk([one for one in made if one.setup is None], batches_of(cases))


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


def _nothing_to_do(out: Sequence[Path], count: int) -> str:
    """Return what a finished sweep answers when it is resumed."""
    names = " and ".join(str(one) for one in out)
    return (
        f"All {spaced(count)} cases are done, and {names} holds them: nothing to do.\n"
        "Leave --resume out to solve them again.\n"
    )


def _stop_words(journal: Journal, count: int) -> str:
    """Return what is kept, and how to go on."""
    return (
        f"{spaced(len(journal.done))} of {spaced(count)} cases are finished and kept in {journal.path}. "
        "The same command with --resume goes on."
    )
