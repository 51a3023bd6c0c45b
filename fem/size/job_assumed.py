"""What a job to size a bar for leaves open, as assumptions with bands."""

from __future__ import annotations

from stickout.fem.setup.bands import Band
from stickout.fem.size.job import Bore, SizeJob
from stickout.fem.size.stock import ALLOWANCE_MM, CLEARANCE_SHARE, CUTTER_SHARE, GRIPPED_SIZES, GROOVE_SHARE
from stickout.fem.study.result import Assumption
from stickout.fem.units import MM


def job_assumptions(job: SizeJob) -> list[Assumption]:
    """Return every size of the job that nobody gave, with its band, in metres."""
    room, found = job.room, []
    if isinstance(job.work, Bore):
        if room.clearance_mm is None:
            found.append(_scaled("room behind the bar for chips", CLEARANCE_SHARE, job.work.bore_mm))
        if room.cutter_mm is None:
            found.append(_scaled("cutter of a round bar sticks out", CUTTER_SHARE, job.work.bore_mm))
    elif job.work.groove_mm is not None and room.clearance_mm is None:
        found.append(_scaled("room on each side in the groove", GROOVE_SHARE, job.work.groove_mm))
    if room.allowance_mm is None:
        found.append(_scaled("bar out of the holder beyond the depth", ALLOWANCE_MM, 1.0))
    if job.holder.gripped_mm is None and job.holder.style == "bed":
        found.append(Assumption("gripped length over the bar's size", GRIPPED_SIZES, ""))
    return found


def _scaled(name: str, share: Band, size_mm: float) -> Assumption:
    low, likely, high = (one * size_mm * MM for one in (share.low, share.likely, share.high))
    return Assumption(name, Band(low, likely, high, share.source), "m")
