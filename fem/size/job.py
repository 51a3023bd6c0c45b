"""What a bar is wanted for: hole or shoulder, the room round it, the holder, the materials, the cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.size.stock import (
    ALLOWANCE_MM,
    CLEARANCE_SHARE,
    CUTTER_SHARE,
    GRIPPED_SIZES,
    GROOVE_SHARE,
)
from stickout.fem.units import length_text

_DEEPEST: Final = 100  # depth over the hole (common practice, no source: damped bars end near 14)
GRIPS: Final = ("bed", "rigid", "centres")
BORING: Final = ("boring",)
OUTSIDE: Final = ("turning", "facing", "parting")


@dataclass(frozen=True)
class Bore:
    """A hole to bore: its diameter as it is before the cut, and how deep the edge must go."""

    bore_mm: float
    depth_mm: float


@dataclass(frozen=True)
class Shank:
    """A shoulder or groove to reach.

    Attributes
    ----------
    shoulder_mm
        Diameter of the shoulder, or of the rim of the groove.
    reach_mm
        How far the edge must go in from that rim, square to the lathe's axis.
    height_mm
        Greatest height of shank that the tool post takes.
    groove_mm
        Width of the groove; None at a shoulder, where one side is open.
    """

    shoulder_mm: float
    reach_mm: float
    height_mm: float
    groove_mm: float | None = None


@dataclass(frozen=True)
class Room:
    """What is left round the bar; None takes the usual share of the hole.

    Attributes
    ----------
    clearance_mm
        Gap behind the bar, for the chips; in a groove, on each side.
    cutter_mm
        How far the cutter of a round bar sticks out toward the wall.
    allowance_mm
        What the bar sticks out of its holder beyond depth or reach.
    raised_mm
        Height of the bar's axis above the edge; negative where the bar is dropped.
    """

    clearance_mm: float | None = None
    cutter_mm: float | None = None
    allowance_mm: float | None = None
    raised_mm: float = 0.0


@dataclass(frozen=True)
class Holder:
    """What holds the bar.

    Attributes
    ----------
    bore_mm
        Diameter of its hole, for a boring bar; None where it suits any bar.
    gripped_mm
        Gripped length; None takes four times the bar's size.
    style
        ``bed`` (a real seat, its stiffness assumed), ``rigid``, or ``centres``: held at both ends.
    """

    bore_mm: float | None = None
    gripped_mm: float | None = None
    style: str = "bed"


@dataclass(frozen=True)
class SizeJob:
    """The whole question. ``cut`` is None where nothing but the operation is known.

    ``beside`` is a set-up whose post carries the bar and whose part is cut, where it describes them.
    """

    work: Bore | Shank
    room: Room = field(default_factory=Room)
    holder: Holder = field(default_factory=Holder)
    materials: Sequence[Material] = (STEEL,)
    cut: Cut | None = None
    units: str = "mm"
    beside: Setup | None = None

    @property
    def boring(self) -> bool:
        """Return whether a hole is bored."""
        return isinstance(self.work, Bore)

    @property
    def reach_mm(self) -> float:
        """Return depth or reach [mm]."""
        return self.work.depth_mm if isinstance(self.work, Bore) else self.work.reach_mm

    @property
    def overhang_mm(self) -> float:
        """Return how far the bar sticks out of the holder, or how long it is between centres [mm].

        Between centres the work passes the cutter from one side to the other: twice depth and allowance.
        """
        allowance = self.room.allowance_mm
        out = self.reach_mm + (ALLOWANCE_MM.likely if allowance is None else allowance)
        return 2 * out if self.between else out

    @property
    def between(self) -> bool:
        """Return whether the bar is held at both ends."""
        return self.holder.style == "centres"

    @property
    def clearance_mm(self) -> float:
        """Return the gap left for the chips [mm]."""
        if self.room.clearance_mm is not None:
            return self.room.clearance_mm
        if isinstance(self.work, Bore):
            return CLEARANCE_SHARE.likely * self.work.bore_mm
        return GROOVE_SHARE.likely * (self.work.groove_mm or 0.0)

    @property
    def cutter_mm(self) -> float:
        """Return how far the cutter of a round bar sticks out [mm]."""
        if self.room.cutter_mm is not None:
            return self.room.cutter_mm
        return CUTTER_SHARE.likely * self.work.bore_mm if isinstance(self.work, Bore) else 0.0

    def gripped_for(self, size_mm: float) -> float:
        """Return the gripped length of a bar of this size [mm]."""
        given = self.holder.gripped_mm
        return GRIPPED_SIZES.likely * size_mm if given is None else given

    @property
    def working_cut(self) -> Cut:
        """Return the cut, or its operation alone where none is described."""
        return self.cut or Cut(operation="boring" if self.boring else "turning")


def check_job(job: SizeJob) -> None:
    """Check the sizes of a job.

    Raises
    ------
    InputError
        The first fault; ``job_faults`` lists them all. Keys are the names of the command's options.
    """
    for fault in job_faults(job):
        raise fault


def job_faults(job: SizeJob) -> Iterator[InputError]:
    """Yield an InputError for every fault of a job's numbers."""
    sizes, units = _sizes(job), job.units
    for key, (value, zero, mend) in sizes.items():
        if value is not None and not (math.isfinite(value) and (value > 0 or (zero and value == 0))):
            allowed = f"{'at or ' if zero else ''}above {length_text(0.0, units)}"
            yield InputError(key=key, given=value, allowed=allowed, mend=mend)
            return
    if job.holder.style not in GRIPS:
        yield InputError(
            key="grip", given=job.holder.style, allowed="bed, rigid or centres", mend="Choose one of these."
        )
    if job.between and not job.boring:
        mend = "Give bore and depth of a hole that goes right through."
        yield InputError(key="grip", given="centres", allowed="bed or rigid at a shoulder", mend=mend)
    if not job.materials:
        mend = "Name one at least, such as steel."
        yield InputError(key="materials", given=MISSING, allowed="names of materials", mend=mend)
    yield from _room_faults(job)
    yield from _cut_faults(job)


def _sizes(job: SizeJob) -> dict[str, tuple[float | None, bool, str]]:
    """Return option -> value, whether zero is allowed, and what to do."""
    work, room = job.work, job.room
    own: dict[str, tuple[float | None, bool, str]]
    if isinstance(work, Bore):
        own = {
            "bore": (work.bore_mm, False, "Measure the hole as it is before the cut."),
            "depth": (work.depth_mm, False, "Measure how deep the edge must go into the hole."),
        }
    else:
        own = {
            "shoulder": (work.shoulder_mm, False, "Measure the diameter of the shoulder or rim."),
            "reach": (work.reach_mm, False, "Measure how far in from the rim the edge must go."),
            "height": (work.height_mm, False, "Measure the slot of the tool post, less packing."),
            "groove": (work.groove_mm, False, "Measure the width of the groove, or leave it out."),
        }
    return {
        **own,
        "clearance": (room.clearance_mm, True, "Give the room you want for chips."),
        "cutter": (room.cutter_mm, False, "Give how far the cutter sticks out of the bar."),
        "allowance": (room.allowance_mm, True, "Give what the holder stays clear of the work."),
        "holder": (job.holder.bore_mm, False, "Measure the hole of the holder."),
        "gripped": (job.holder.gripped_mm, False, "Measure the length of bar inside the holder."),
    }


def _room_faults(job: SizeJob) -> Iterator[InputError]:
    """Yield the faults of gaps that leave nothing for a bar."""
    work, units = job.work, job.units
    if isinstance(work, Shank):
        if work.reach_mm >= work.shoulder_mm / 2:
            allowed = f"below half the shoulder's diameter, {length_text(work.shoulder_mm / 2, units)}"
            mend = "The reach is measured from the rim toward the middle of the work."
            yield InputError(key="reach", given=work.reach_mm, allowed=allowed, mend=mend)
        if work.groove_mm is not None and 2 * job.clearance_mm >= work.groove_mm:
            allowed = f"below half the groove, {length_text(work.groove_mm / 2, units)}"
            mend = "It is taken away on both sides of the blade."
            yield InputError(key="clearance", given=job.clearance_mm, allowed=allowed, mend=mend)
        return
    if work.depth_mm > _DEEPEST * work.bore_mm:
        allowed = f"at most {_DEEPEST} times the hole, {length_text(_DEEPEST * work.bore_mm, units)}"
        mend = "No bar held at one end reaches so far; check the number and its unit."
        yield InputError(key="depth", given=work.depth_mm, allowed=allowed, mend=mend)
        return
    left = work.bore_mm - job.cutter_mm - job.clearance_mm
    if left <= 0:
        key, other = (
            ("clearance", job.cutter_mm)
            if job.room.clearance_mm is not None
            else ("cutter", job.clearance_mm)
        )
        given = job.clearance_mm if key == "clearance" else job.cutter_mm
        most = length_text(max(work.bore_mm - other, 0.0), units)
        allowed = f"below {most}, what the hole of {length_text(work.bore_mm, units)} leaves"
        yield InputError(
            key=key, given=given, allowed=allowed, mend="Leave less, or make the hole larger first."
        )
    elif not abs(job.room.raised_mm) < left / 2:
        allowed = f"within {length_text(left / 2, units)} of the edge's height"
        mend = "Keep the bar nearer the middle of the hole."
        yield InputError(key="raised", given=job.room.raised_mm, allowed=allowed, mend=mend)


def _cut_faults(job: SizeJob) -> Iterator[InputError]:
    """Yield the fault of a cut that is another job."""
    allowed = BORING if job.boring else OUTSIDE
    if job.cut is not None and job.cut.operation not in allowed:
        given = job.cut.operation or MISSING
        mend = "Give a set-up whose [cut] describes this job."
        yield InputError(key="cut.operation", given=given, allowed=" or ".join(allowed), mend=mend)
