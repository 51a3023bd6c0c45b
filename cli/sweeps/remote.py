"""What runs on a Dask worker: a job, and the question what code is there."""

from __future__ import annotations

from dataclasses import dataclass

import stickout.fem  # noqa: F401 - one thread inside BLAS, set before NumPy is loaded
from stickout.cli.fingerprint import Code, code
from stickout.cli.sweeps.work import Numbered, rows_of
from stickout.fem.sweep.batches import Batch


class OtherCode(RuntimeError):
    """A worker has another version of this program than whoever sent the job."""

    def __init__(self, worker: str, code: Code) -> None:
        super().__init__(worker, code)
        self.worker = worker
        self.code = code


@dataclass(frozen=True)
class Job:
    """Batches that go to one worker.

    Attributes
    ----------
    batches
        The batches, whole.
    done
        Numbers of their cases that need no answer.
    code
        What runs where they come from.
    topic
        Under which every case is told to the scheduler as it is finished.
    alone
        Whether it is one case that is suspected of killing workers.
    """

    batches: tuple[Batch, ...]
    done: frozenset[int]
    code: Code
    topic: str = ""
    alone: bool = False

    @property
    def numbers(self) -> list[int]:
        """Return the numbers of the cases to do."""
        return [c.number for b in self.batches for c in b.cases if c.number not in self.done]


def told_code() -> Code:
    """Return what runs on a worker."""
    return code()


def run_job(job: Job) -> list[Numbered]:
    """Return the rows of a job, each told to the scheduler as soon as it is there.

    Raises
    ------
    OtherCode
        This worker has another version.
    """
    from distributed import get_worker

    worker = get_worker()
    if code() != job.code:
        raise OtherCode(worker.address, code())
    rows = []
    for batch in job.batches:
        for one in rows_of(batch, done=job.done):
            rows.append(one)
            worker.log_event(job.topic, (one.number, one.row))
    return rows
