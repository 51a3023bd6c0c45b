"""The cases of a batch as rows: what a worker does, in this process or on another machine."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterator, Sequence
from dataclasses import dataclass

from stickout.fem.sweep.batches import Batch, Outcome, solve_batch
from stickout.fem.sweep.case_row import Row, row_of

# What may go wrong inside a case and be no fault of the others: numbers that overflow, matrices that are
# singular, too little memory. Anything else is a fault of the program and is not kept quiet.
ODD = (ArithmeticError, ValueError, MemoryError, RuntimeError)


@dataclass(frozen=True)
class Numbered:
    """A case's number and its row."""

    number: int
    row: Row


def rows_of(batch: Batch, *, done: Collection[int] = ()) -> Iterator[Numbered]:
    """Yield the cases of a batch that are not done, one after another as they are finished.

    Parameters
    ----------
    batch
        The whole batch.
    done
        Numbers of the cases that need no row any more.
    """
    setups = {case.number: case.setup for case in batch.cases}
    left = [number for number in setups if number not in done]
    try:
        for outcome in solve_batch(batch, done=[number for number in setups if number in done]):
            left.remove(outcome.number)
            yield Numbered(outcome.number, row_of(outcome, setup=setups[outcome.number]))
    except ODD as error:
        if len(left) == 1:
            yield Numbered(left[0], failed_row(left[0], f"{type(error).__name__}: {error}", batch=batch))
            return
        for number in left:  # one of them broke the batch: each by itself, with the same batch about it
            yield from rows_of(batch, done=[other for other in setups if other != number])


def failed_row(number: int, reason: str, *, batch: Batch) -> Row:
    """Return the row of a case of a batch that has no answer."""
    [setup] = [case.setup for case in batch.cases if case.number == number]
    return row_of(Outcome(number, None, reason), setup=setup)


def undone(batches: Sequence[Batch], *, done: Container[int]) -> list[Batch]:
    """Return the batches in which something is left to do."""
    return [batch for batch in batches if any(case.number not in done for case in batch.cases)]
