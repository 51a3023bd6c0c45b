"""How many cases are many: a plan is counted before any of it is made."""

from __future__ import annotations

from typing import Final

from stickout.cli.sweeps.engine import Wanted, workers_at_most
from stickout.cli.sweeps.plan import Plan
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

MANY: Final = 20_000  # cases above which --yes must be given
MOST: Final = 1_000_000_000  # cases that no --yes allows more than: years on the largest cluster
_A_CASE_S: Final = (0.02, 1.0)  # what a case may take on one core, measured on the examples


def check_count(plan: Plan, wanted: Wanted, *, yes: bool) -> None:
    """Check that a plan with very many cases is meant.

    Raises
    ------
    InputError
        It has more than ``MANY`` cases, and nobody said yes.
    """
    if plan.count <= MANY or (yes and plan.count <= MOST):
        return
    workers = 1 if wanted.cluster else workers_at_most(wanted)
    if plan.count > MOST:
        mend = "Take wider steps, or --cases for a sample."
        given = Plain(f"{plan.count:.3g} cases" if plan.count < 1e300 else "cases without number")
        raise InputError(key="--vary", given=given, allowed=f"at most {spaced(MOST)} cases", mend=mend)
    low, high = (_time_words(plan.count * each / workers) for each in _A_CASE_S)
    where = "on the cluster: by each of its workers" if wanted.cluster else f"with {_processes(workers)}"
    given = Plain(f"{spaced(plan.count)} cases, {low} to {high} of work {where}")
    mend = "Add --yes if that is what you want; otherwise take wider steps, or --cases for a sample."
    raise InputError(
        key="--vary", given=given, allowed=f"at most {spaced(MANY)} cases without --yes", mend=mend
    )


def _processes(workers: int) -> str:
    """Return "one process" or "2 processes"."""
    return "one process" if workers == 1 else f"{workers} processes"


def spaced(count: int) -> str:
    """Return a count with a blank before every three digits: "10 000 000"."""
    return f"{count:,}".replace(",", " ")


def _time_words(seconds: float) -> str:
    """Return a time roughly: "3 minutes", "2 hours", "5 days"."""
    for size, word in ((86_400.0, "day"), (3600.0, "hour"), (60.0, "minute")):
        if seconds >= size:
            amount = round(seconds / size)
            return f"{spaced(amount)} {word}{'' if amount == 1 else 's'}"
    return "a minute"
