"""Who solves the batches: this process, or Dask workers here or elsewhere."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Protocol

from stickout.fem.errors import InputError

if TYPE_CHECKING:
    from stickout.cli.sweeps.work import Numbered
    from stickout.fem.sweep.batches import Batch

FEW: Final = 16.0  # single solves below which starting workers takes longer than it saves
_A_FAMILY: Final = 2.5  # single solves that a batch of like cases costs before its first answer
_ONE_ALIKE: Final = 0.05  # and then each of them


class Engine(Protocol):
    """Solves batches."""

    def solve(self, batches: Sequence[Batch], *, done: Collection[int]) -> Iterator[Numbered]:
        """Yield the cases that are not done as they are finished, in any order."""


class Here:
    """Solves batches in this process, one after another."""

    def solve(self, batches: Sequence[Batch], *, done: Collection[int]) -> Iterator[Numbered]:
        """Yield the cases that are not done, in the order of the batches."""
        from stickout.cli.sweeps.work import rows_of

        for batch in batches:
            yield from rows_of(batch, done=done)


@dataclass(frozen=True)
class Wanted:
    """Who is to solve.

    Attributes
    ----------
    workers
        How many processes; None for one on every core, none started where there is little to do.
    cluster
        Address of a Dask scheduler; None for this machine.
    patience_s
        How long to wait for the scheduler's answer [s].
    """

    workers: int | None = None
    cluster: str | None = None
    patience_s: float = 10.0


def check_wanted(wanted: Wanted) -> None:
    """Check what was asked for, before anything is computed.

    Raises
    ------
    InputError
        The number of workers or the time-out is out of range, both kinds of workers were asked for, the
        address is none, or Dask is wanted and not installed.
    """
    if wanted.workers is not None and wanted.workers < 1:
        mend = "One process is the least."
        raise InputError(key="--workers", given=wanted.workers, allowed="1 or above", mend=mend)
    if wanted.workers is not None and wanted.cluster is not None:
        mend = "A cluster has its own workers: leave --workers out."
        raise InputError(key="--workers", given=wanted.workers, allowed="given without --cluster", mend=mend)
    if not wanted.patience_s > 0:
        mend = "Say for how many seconds to wait."
        raise InputError(key="--timeout", given=wanted.patience_s, allowed="above 0 s", mend=mend)
    if wanted.cluster is not None:
        from stickout.cli.sweeps.address import check_address

        check_address(wanted.cluster)
    if wanted.cluster is not None or (wanted.workers or 1) > 1:
        require("distributed", option="--cluster" if wanted.cluster else "--workers", what="Dask")


def require(package: str, *, option: str, what: str) -> None:
    """Check that a package of the extra ``sweep`` is installed.

    Raises
    ------
    InputError
        It is not; the message has the line that installs it.
    """
    if not _installed(package):
        mend = "Install it: pip install '.[sweep]' in the folder of this tool."
        raise InputError(key=option, given=what, allowed="given where it is installed", mend=mend)


def _installed(package: str) -> bool:
    """Return whether a package can be imported, without importing it."""
    from importlib.util import find_spec

    return find_spec(package) is not None


def workers_at_most(wanted: Wanted) -> int:
    """Return how many processes there would be for any amount of work."""
    if wanted.workers is not None:
        return wanted.workers
    if not _installed("distributed"):
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def workers_for(wanted: Wanted, batches: Sequence[Batch]) -> int:
    """Return how many processes to start for these batches; 1 means none beside this one.

    A batch is done by one process. Unless the user says how many, none is started for less work than it
    takes to start them.
    """
    solves = sum(_A_FAMILY + _ONE_ALIKE * len(one.cases) if one.alike else 1.0 for one in batches)
    if wanted.workers is None and solves < FEW:
        return 1
    return max(1, min(workers_at_most(wanted), len(batches)))


@contextmanager
def engine_for(wanted: Wanted, batches: Sequence[Batch]) -> Iterator[Engine]:
    """Yield who solves; what was started for these first batches is stopped after the block.

    Raises
    ------
    InputError
        The scheduler does not answer, or its workers cannot take part.
    """
    workers = workers_for(wanted, batches)
    if wanted.cluster is None and workers < 2:
        yield Here()
        return
    from stickout.cli.sweeps.cluster import elsewhere, on_this_machine

    if wanted.cluster is not None:
        with elsewhere(wanted.cluster, patience_s=wanted.patience_s) as engine:
            yield engine
    else:
        with on_this_machine(workers) as engine:
            yield engine
