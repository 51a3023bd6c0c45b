"""A recorded cut: its loudest note, whether it is forced or sings by itself, and which mode it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from stickout.fem.bench.lines import (
    GEAR,
    IDLE,
    MAINS,
    OFF,
    SPINDLE,
    UNSURE,
    Comb,
    Line,
    comb_of,
    find_lines,
    sorted_lines,
)
from stickout.fem.bench.recording import Recording, open_recording
from stickout.fem.bench.squeal import Candidate, Match, blind_above, which_sings
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

FORCED, SINGS, UNTOLD, NONE = "forced", "self-excited", "untold", "no note"
CHART_ERROR: Final = 0.04  # of a belt chart under load
_LOUD_DB: Final = 20.0  # below the loudest line that is no machine's a note is not looked for
_FAINT_DB: Final = -40.0  # over the loudest line of all
_LEAST_TURNS: Final = 3.0
_LEAST_HZ: Final = 80.0
_OTHER_SPEED: Final = 0.05
_FOLLOWS: Final = (0.3, 0.7)  # d ln f / d ln n: below, it stays; above, it follows the spindle


@dataclass(frozen=True)
class Recorded:
    """A cut that was recorded: the file, spindle speed [rpm] and its relative error, and an idling one."""

    path: Path
    rpm: float
    error: float = CHART_ERROR
    idle: Path | None = None


@dataclass(frozen=True)
class Machine:
    """What else may hum: mains [Hz], None for either kind, and teeth of gears that turn with the spindle."""

    mains: float | None = None
    teeth: tuple[int, ...] = ()


@dataclass(frozen=True)
class Squeal:
    """What a recorded cut tells.

    Attributes
    ----------
    recording
        The file.
    lines
        Its lines, loudest first, with what each is.
    comb
        The spindle's speed.
    note
        The line that sings; None where nothing but machine is heard.
    sidebands
        Orders of the spindle beside the note that are there too: 1 runout, 2 a flat, 3 the jaws.
    verdict
        ``FORCED``, ``SINGS``, ``UNTOLD`` or ``NONE``.
    why
        In words, what it rests on.
    match
        Which mode it is; None without modes to choose from.
    """

    recording: Recording
    lines: tuple[Line, ...]
    comb: Comb
    note: Line | None
    sidebands: tuple[int, ...]
    verdict: str
    why: str
    match: Match | None


def hear_cut(
    cut: Recorded,
    *,
    machine: Machine = Machine(),
    other: Recorded | None = None,
    modes: Sequence[Candidate] = (),
) -> Squeal:
    """Return what a recorded cut tells.

    Parameters
    ----------
    cut
        The recording and its speed.
    machine
        Mains and gears.
    other
        The same cut at a speed that differs by five per cent or more.
    modes
        Modes of tool, work and post that may sing.

    Returns
    -------
    Squeal

    Raises
    ------
    InputError
        A file cannot be read or is too short, a speed is not above zero, or the two are too near each other.
    """
    lines, comb, recording = _lines(cut, machine)
    note = _note(lines)
    verdict, why = _verdict(note, comb)
    if note is not None and other is not None:
        verdict, why = _by_two(cut, other, note=note, machine=machine)
    beside = () if note is None else _sidebands(note, lines, comb)
    match = which_sings(note.hz, modes) if note is not None and modes else None
    return Squeal(recording, tuple(lines), comb, note, beside, verdict, why, match)


def _lines(cut: Recorded, machine: Machine) -> tuple[list[Line], Comb, Recording]:
    """Return the sorted lines of a cut, and the speed."""
    if not (cut.rpm > 0.0 and math.isfinite(cut.rpm) and 0.0 <= cut.error < 0.5):
        raise InputError(
            key="rpm",
            given=f"{cut.rpm:g} rpm, known to {cut.error:g}",
            allowed="a speed above 0, known to better than 0.5",
            mend="Give the spindle speed of the recording.",
        )
    recording = open_recording(cut.path)
    seconds = recording.frames / recording.rate_hz
    if seconds < _LEAST_TURNS * 60.0 / cut.rpm:
        raise InputError(
            key="recording",
            given=Plain(f"{cut.path.name}, {seconds:.1f} s"),
            allowed=f"three turns or more, {_LEAST_TURNS * 60.0 / cut.rpm:.1f} s at this speed",
            mend="Record a longer piece of the cut.",
        )
    found = find_lines(recording)
    comb = comb_of(found, cut.rpm, error=cut.error)
    idle = [] if cut.idle is None else find_lines(open_recording(cut.idle))
    return sorted_lines(found, comb, idle=idle, mains=machine.mains, teeth=machine.teeth), comb, recording


def _note(lines: Sequence[Line]) -> Line | None:
    """Return the loudest line that the machine itself does not make, else the loudest of the comb."""
    heard = [one for one in lines if one.hz > _LEAST_HZ and one.level_db > _FAINT_DB]
    loud = [one for one in heard if one.kind not in (IDLE, MAINS, GEAR)]
    if not loud:
        return None
    top = max(one.level_db for one in loud)
    off = [one for one in loud if one.kind in (OFF, UNSURE) and one.level_db > top - _LOUD_DB]
    return max(off or loud, key=lambda one: one.level_db)


def _sidebands(note: Line, lines: Sequence[Line], comb: Comb) -> tuple[int, ...]:
    """Return the orders of the spindle at which lines stand on either side of the note."""
    out = []
    for order in (1, 2, 3):
        apart = order * comb.turns
        sides = [note.hz - apart, note.hz + apart]
        if all(any(abs(one.hz - side) < 3 * (one.sd + note.sd) for one in lines) for side in sides):
            out.append(order)
    return tuple(out)


def _verdict(note: Line | None, comb: Comb) -> tuple[str, str]:
    """Return whether one recording shows a note to be forced, and why."""
    if note is None:
        return NONE, "nothing is heard beside the machine itself"
    if note.kind == UNSURE:
        least = blind_above(60.0 * comb.turns, note.hz)
        if comb.error < least:
            return UNTOLD, (
                "it stands so near a line of the spindle's comb that chance would do it: record the same cut "
                "at another speed"
            )
        return UNTOLD, (
            f"the speed must be known to {100 * least:.2f} %, and is to {100 * comb.error:.1f} %: record the "
            "same cut at another speed"
        )
    if note.kind == SPINDLE:
        return FORCED, f"it stands on line {note.order:.0f} of the spindle's comb"
    return SINGS, f"it stands off the spindle's comb, at {note.order:.2f} times its speed"


def _by_two(cut: Recorded, other: Recorded, *, note: Line, machine: Machine) -> tuple[str, str]:
    """Return whether a note follows the spindle's speed from one recording to another."""
    if abs(math.log(other.rpm / cut.rpm)) < math.log1p(_OTHER_SPEED) * 0.999:
        raise InputError(
            key="other speed",
            given=f"{other.rpm:g} rpm beside {cut.rpm:g} rpm",
            allowed="five per cent or more apart",
            mend="Record the cut at a speed that differs more.",
        )
    second = _note(_lines(other, machine)[0])
    if second is None:
        return UNTOLD, "at the other speed nothing is heard beside the machine itself"
    slope = math.log(second.hz / note.hz) / math.log(other.rpm / cut.rpm)
    told = f"between {cut.rpm:g} and {other.rpm:g} rpm it goes from {note.hz:.0f} to {second.hz:.0f} Hz"
    if abs(slope) < _FOLLOWS[0]:
        return SINGS, f"{told}: it keeps its own note"
    if _FOLLOWS[1] < slope < 2.0 - _FOLLOWS[1]:
        return FORCED, f"{told}: it follows the spindle"
    return UNTOLD, f"{told}: neither its own note nor the spindle's"
