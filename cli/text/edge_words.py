"""What the edge does under the cut in words: its spring, what comes out of size, how it would sing."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.screen import load_felt
from stickout.cli.text.speed_words import crossing_line, speed_name, surface_speed
from stickout.cli.text.words import hertz, note_name, spring_text
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.leverage import TOOL
from stickout.fem.cut.speed_verdict import QUIET
from stickout.fem.units import UM, rounded, small_length_text

_COUNTS: Final = 1.0 * UM
# The share of a swing that must lie one way before it is called so.
_MOSTLY: Final = 0.7
_SHRILL_HZ: Final = 3000.0
_TOP_NOTE_HZ: Final = 4200.0  # the last key of a piano: higher notes have no name that anybody uses
# A cut that may grow by no more before it digs in is too near: a worn edge or a slack slide does the rest.
_NEAR_DIG_IN: Final = 3.0


def spring_line(answer: CutAnswer) -> str:
    """Return how far edge and work spring, and what comes out of size under this cut."""
    result, operation, units = answer.result, answer.case.cut.operation, answer.result.setup.units
    text = f"The edge springs {spring_text(result.compliance_along, units)} for {load_felt(units)}"
    if answer.side is not None and answer.side.soft_side == "work":
        tool = spring_text(result.compliance_along, units).partition(" ")[0]
        work = spring_text(answer.side.work_compliance_along, units)
        text = f"The work springs {work} for {load_felt(units)}, the tool {tool}"
    if operation == "parting":
        drop = -float(answer.spring_off.edge[2])
        if drop <= _COUNTS:
            return f"{text} pushed the way the cut pushes."
        return f"{text}; under this cut it sinks {small_length_text(drop, units)}: set it dead on centre."
    off = answer.spring_off.radial
    if operation not in ("boring", "turning"):
        return f"{text} pushed the way the cut pushes."
    soft = answer.side is not None and answer.side.soft_side == "work"
    what = ": the end" if soft else f"; under this cut {'the bore' if operation == 'boring' else 'the work'}"
    if abs(2 * off) < _COUNTS:
        return f"{text}{what} comes to size within {small_length_text(UM, units, digits=1)}."
    way = "small" if (operation == "boring") == (off >= 0) else "large"
    wrong = small_length_text(abs(2 * off), units, digits=2 if abs(2 * off) < 10 * UM else 1)
    return f"{text}{what} comes {wrong} {way} on diameter."


def pitch_line(answer: CutAnswer) -> str:
    """Return pitch, marks and their depth at the speed that changes are told at."""
    one, units = answer.verdict.stated, answer.result.setup.units
    if not (math.isfinite(one.chatter_hz) and one.chatter_hz > 0 and math.isfinite(one.wavelength)):
        return ""
    shrill = ", shrill" if one.chatter_hz > _SHRILL_HZ else ""
    pitch = f"near {note_name(one.chatter_hz)} ({hertz(one.chatter_hz)}{shrill})"
    if one.chatter_hz > _TOP_NOTE_HZ:
        pitch = f"at about {hertz(one.chatter_hz)}, shrill"
    tool_sings = answer.leverage is None or answer.leverage.singer == TOOL
    if answer.case.cut.operation == "parting" and tool_sings and _sideways(answer):
        return f"If it sings it is the blade swinging sideways, {pitch}."
    apart = fine_length(one.wavelength, units, digits=1)
    deep = small_length_text(one.ceiling, units, digits=1)
    text = f"If it sings at {speed_name(one, units)}: {pitch}, marks {apart} apart, some {deep} deep"
    mildly = one.whispers and one.verdict != QUIET
    return f"{text}: a whisper." if mildly else f"{text}."


def why_line(answer: CutAnswer) -> str:
    """Return up to which speed it stays quiet, or why slowing down does not help."""
    verdict, units = answer.verdict, answer.result.setup.units
    if verdict.slowing_helps or not _slantwise(answer):
        return crossing_line(verdict, units)
    calm = verdict.crossing.quiet_up_to
    down = f" It would have to go down to about {surface_speed(calm, units)} to calm." if calm else ""
    return f"Why: it swings slantwise, mostly along the cut, where the flank does not rub.{down}"


def last_line(answer: CutAnswer) -> str:
    """Return what the operation asks for beside all that; empty for most."""
    if answer.case.cut.operation == "parting":
        keep = "Keep the feed up and the oil on: a blade that dwells rubs, then grabs."
        return f"{keep} {dig_in_words(answer)}"
    taper, units = answer.spring_off.taper, answer.result.setup.units
    if taper is None or taper < _COUNTS:
        return ""
    along = small_length_text(taper, units)
    return f"Taper: {along} on diameter along the work, for that. Worn jaws or centres give more."


def dig_in_words(answer: CutAnswer) -> str:
    """Return whether a blade digs in by its own force; empty for other cuts."""
    found = answer.dig_in
    if found is None:
        return ""
    if found.factor <= 1:
        return "It digs in: this cut pulls the edge in faster than it frees itself. Hold it shorter."
    if found.factor < _NEAR_DIG_IN:
        return f"Dig-in is near: {rounded(found.factor, 2)} times this cut would pull the edge in."
    return "Dig-in: none found."


def _slantwise(answer: CutAnswer) -> bool:
    """Return whether the limiting swing of a bar that is not alike all round goes mostly along the cut."""
    if answer.limiting is None or answer.turned.alike:
        return False
    swing, ways = answer.result.modes.edge[answer.limiting], answer.case.directions
    return abs(float(swing @ ways.cutting)) > abs(float(swing @ ways.passive))


def _sideways(answer: CutAnswer) -> bool:
    """Return whether the limiting swing moves the edge mostly along the spindle."""
    if answer.limiting is None:
        return False
    swing = answer.result.modes.edge[answer.limiting]
    along = abs(float(swing @ answer.case.directions.passive))  # of a blade: along its edge, sideways
    return along > _MOSTLY * float(np.linalg.norm(swing))
