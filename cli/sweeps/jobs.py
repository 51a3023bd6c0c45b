"""Batches into jobs: one trip to a worker each."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Final

from stickout.cli.fingerprint import code
from stickout.cli.sweeps.remote import Job
from stickout.fem.sweep.batches import Batch

_MOST_CASES: Final = 8  # cases a job, where batches are smaller: a job costs a few milliseconds


def jobs_of(batches: Sequence[Batch], *, done: Collection[int], workers: int) -> list[Job]:
    """Return the jobs of batches in which something is left to do; small batches share one."""
    size = max(1, min(_MOST_CASES, sum(len(b.cases) for b in batches) // (4 * workers)))
    jobs: list[list[Batch]] = []
    room = 0
    for batch in batches:
        left = sum(case.number not in done for case in batch.cases)
        if left == 0:
            continue
        if left > room:
            jobs.append([])
            room = size
        jobs[-1].append(batch)
        room -= left
    every = code()
    return [
        Job(tuple(some), frozenset(c.number for b in some for c in b.cases if c.number in done), every)
        for some in jobs
    ]


def alone(job: Job, number: int) -> Job:
    """Return the job of one case of a job, its batch about it."""
    [batch] = [b for b in job.batches if number in {case.number for case in b.cases}]
    others = frozenset(case.number for case in batch.cases if case.number != number)
    return replace(job, batches=(batch,), done=others, alone=True)
