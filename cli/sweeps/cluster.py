"""Batches on Dask workers: processes of this machine, or the workers of a scheduler that runs already.

A worker tells every case as it finishes it, so that a case is on the disk of whoever asked before its batch
is done; what the batch returns in the end is the same rows once more, and is what counts. Few batches are
under way at a time. A batch whose worker is lost is done again by another; when that happens again the cases
left in it are done one by one, last of all, and one that takes its worker with it each time is a failed case.
"""

from __future__ import annotations

import asyncio
import logging
import os
import queue
import signal
from collections import deque
from collections.abc import Collection, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from dataclasses import replace
from multiprocessing import resource_tracker
from typing import Any, Final, NamedTuple
from uuid import uuid4

import dask
from distributed import Client, Future, KilledWorker, LocalCluster, Security
from distributed.comm import connect

from stickout.cli.run import tell
from stickout.cli.sweeps.folder import own_folder
from stickout.cli.sweeps.jobs import alone, jobs_of
from stickout.cli.sweeps.members import check_workers, other_code
from stickout.cli.sweeps.remote import Job, OtherCode, run_job
from stickout.cli.sweeps.work import Numbered, failed_row
from stickout.fem.errors import InputError, SolveError
from stickout.fem.nearest import Plain
from stickout.fem.sweep.batches import Batch

_AHEAD: Final = 2  # jobs under way for each worker: one done, one waiting
_LOOK_S: Final = 0.5  # how often to look whether the scheduler is still there
_LONELY_S: Final = 10.0  # how long without any worker before a word is said
_SETTINGS: Final = {
    "distributed.scheduler.allowed-failures": 1,  # a job may lose one worker; a second one tells on it
    "distributed.worker.memory.target": False,  # rows are small: nothing to move to the disk
    "distributed.worker.memory.spill": False,
    "distributed.worker.memory.pause": False,
    "distributed.worker.profile.enabled": False,
    "distributed.admin.low-level-log-length": 100,
}
_GONE: Final = ("closing", "closed", "connecting")


@contextmanager
def on_this_machine(workers: int) -> Iterator[Workers]:
    """Yield worker processes of this machine; after the block they are gone, with their folders.

    Raises
    ------
    SolveError
        They do not start.
    """
    with _quiet(), dask.config.set(_SETTINGS), own_folder() as folder:
        try:
            with _deaf():
                cluster = LocalCluster(
                    n_workers=workers,
                    threads_per_worker=1,
                    host="127.0.0.1",
                    dashboard_address=None,
                    scheduler_kwargs={
                        "dashboard_address": "127.0.0.1:0"
                    },  # or it knocks at a port of its own
                    local_directory=str(folder),
                    silence_logs=logging.CRITICAL,
                )
        except (OSError, RuntimeError) as error:
            raise SolveError(
                f"The worker processes do not start: {error} Try --workers 1, which needs none."
            ) from error
        with cluster, Client(cluster, set_as_default=False) as client, _stopped_at_once(cluster):
            yield Workers(client, "the worker processes")


@contextmanager
def _stopped_at_once(cluster: LocalCluster) -> Iterator[None]:
    """Kill the workers when the block fails: nobody wants what they are at, and asking them takes seconds."""
    well = False
    try:
        yield
        well = True
    finally:
        for nanny in () if well else cluster.workers.values():
            nanny.auto_restart = False
            if nanny.pid is not None:
                with suppress(ProcessLookupError):
                    os.kill(nanny.pid, signal.SIGTERM if os.name == "nt" else signal.SIGKILL)


@contextmanager
def elsewhere(address: str, *, patience_s: float) -> Iterator[Workers]:
    """Yield the workers of a scheduler that runs already, once they are known to have this very code.

    Raises
    ------
    InputError
        The scheduler does not answer in time or has no workers, or a worker lacks this program or has
        another version of it.
    """
    with _quiet(), dask.config.set({"distributed.comm.timeouts.connect": f"{patience_s}s"}):
        try:
            # A port that takes the call and then says nothing would keep Client waiting for ever.
            asyncio.run(asyncio.wait_for(_knock(address, patience_s), patience_s))
            client = Client(address, timeout=patience_s, set_as_default=False)
        except (OSError, TimeoutError, ValueError, TypeError, RuntimeError, MemoryError) as error:
            given = Plain(f"{address}, where no scheduler answered within {patience_s:g} s")
            mend = "Check that it runs (dask scheduler), its address, and the firewall between."
            allowed = "a scheduler that answers"
            raise InputError(key="--cluster", given=given, allowed=allowed, mend=mend) from error
        with client:
            check_workers(client, address, patience_s=patience_s)
            yield Workers(client, f"the scheduler at {address}")


async def _knock(address: str, patience_s: float) -> None:
    """Open a connection as Dask does, up to where both sides have said who they are, and close it."""
    comm = await connect(address, timeout=patience_s, **Security().get_connection_args("client"))
    await comm.close()


class _Ended(NamedTuple):
    """What a job leaves: its rows, jobs to do again, and jobs of one case each to do alone."""

    rows: list[Numbered]
    again: list[Job]
    alone: list[Job]


class Workers:
    """Solves batches on the workers of a client; ``name`` is what a message calls them."""

    def __init__(self, client: Client, name: str) -> None:
        self._client = client
        self._name = name
        self._topic = f"stickout-{uuid4().hex}"
        self._news: queue.SimpleQueue[Numbered | Future] = queue.SimpleQueue()
        self._threads = 1
        self._lonely = 0.0
        self._look()

    def solve(self, batches: Sequence[Batch], *, done: Collection[int]) -> Iterator[Numbered]:
        """Yield the cases that are not done as they are finished, in any order.

        Raises
        ------
        InputError
            A worker that joined has another version.
        SolveError
            The scheduler is gone.
        """
        self._client.subscribe_topic(self._topic, self._hear)
        finished = set(done)
        waiting = deque(jobs_of(batches, done=done, workers=self._threads))
        suspects: deque[Job] = deque()
        under_way: dict[str, tuple[Future, Job]] = {}
        while waiting or under_way or suspects:
            if not waiting and not under_way:
                waiting.append(suspects.popleft())  # alone, so that none is blamed for another
            while waiting and len(under_way) < _AHEAD * self._threads:
                future, job = self._submit(waiting.popleft())
                under_way[future.key] = (future, job)
            one = self._next(under_way)
            if isinstance(one, Numbered):
                rows = [one]
            else:
                _, job = under_way.pop(one.key)
                rows, again, singly = self._outcome(one, job, finished)
                waiting += again
                suspects += singly
            for row in rows:
                if row.number not in finished:
                    finished.add(row.number)
                    yield row

    def _submit(self, job: Job) -> tuple[Future, Job]:
        """Send a job off."""
        job = replace(job, topic=self._topic)
        future = self._client.submit(run_job, job, key=f"stickout-{uuid4().hex}", pure=False)
        future.add_done_callback(self._news.put)
        return future, job

    def _hear(self, event: tuple[float, Any]) -> None:
        """Take a case that a worker tells."""
        number, row = event[1]
        self._news.put(Numbered(number, row))

    def _next(self, under_way: Collection[str]) -> Numbered | Future:
        """Return the next piece of news; look meanwhile whether the scheduler and its workers are there."""
        while True:
            try:
                one = self._news.get(timeout=_LOOK_S)
            except queue.Empty:
                self._look()
                continue
            if isinstance(one, Numbered) or one.key in under_way:
                return one

    def _look(self) -> None:
        """Check that somebody is there, and count the workers' threads."""
        if self._client.status in _GONE:
            raise self._gone()
        try:
            threads = sum(self._client.nthreads().values())
        except (OSError, TimeoutError) as error:
            raise self._gone() from error
        self._threads = max(1, threads)
        before, self._lonely = self._lonely, 0.0 if threads else self._lonely + _LOOK_S
        if before < _LONELY_S <= self._lonely:
            tell(f"{self._name.capitalize()} has no worker left; waiting for one. Ctrl-C stops.")

    def _gone(self) -> SolveError:
        """Return the error of a scheduler that is not there any more."""
        return SolveError(f"{self._name.capitalize()} no longer answers.")

    def _outcome(self, future: Future, job: Job, finished: Collection[int]) -> _Ended:
        """Return what a job that has ended leaves: rows, jobs to do again, and cases to do alone."""
        if future.status == "finished":
            try:
                return _Ended(future.result(), [], [])
            except (OSError, TimeoutError, asyncio.CancelledError, CancelledError) as error:
                self._look()
                if self._client.status in _GONE:
                    raise self._gone() from error
        if future.status != "error":
            self._look()
            return _Ended([], [job], [])  # its worker died with the rows before they were fetched
        fault = future.exception()
        if isinstance(fault, OtherCode):
            raise other_code(fault.worker, fault.code)
        if not isinstance(fault, KilledWorker):
            raise SolveError(f"A worker failed: {type(fault).__name__}: {fault}") from fault
        left = [n for n in job.numbers if n not in finished]
        if job.alone and left:
            [number], [batch] = left, job.batches
            reason = "The worker process died each time at this case: too little memory, or a fault here."
            return _Ended([Numbered(number, failed_row(number, reason, batch=batch))], [], [])
        return _Ended([], [], [alone(job, number) for number in left])


@contextmanager
def _deaf() -> Iterator[None]:
    """Start threads and processes that Ctrl-C does not reach: it stops us, and we stop them.

    What is started in the block inherits that the signal waits; here it is obeyed after the block.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # it would let the signal through again when it starts by itself
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what Dask logs from the screen: what matters is said in our own words."""
    talkers = ("distributed", "tornado", "asyncio")
    known = [name for name in logging.root.manager.loggerDict if name.partition(".")[0] in talkers]
    before = [(logging.getLogger(name), logging.getLogger(name).level) for name in {*talkers, *known}]
    for log, _ in before:
        log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for log, level in before:
            log.setLevel(level)
