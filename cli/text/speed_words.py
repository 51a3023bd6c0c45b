"""The verdict of a cut in words, speed by speed: quiet, may sing, noisy, and how many in ten stay quiet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby
from typing import Final

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.words import hertz, listed, note_name
from stickout.fem.cut.verdict import NOISY, QUIET, SpeedVerdict, Verdict
from stickout.fem.units import small_length_text

_FEET: Final = 0.3048
_MOST_NAMED: Final = 3  # neighbouring speeds with one word; more are told as a range


def in_ten(chance: float) -> str:
    """Return how many of ten lathes set up like this stay quiet, rounded down; 9 and <1 at the ends."""
    whole = min(math.floor(10 * chance + 1e-9), 9)
    return "<1" if whole < 1 else str(whole)


def surface_speed(speed: float, units: str) -> str:
    """Return a cutting speed [m/s] in m/min, or ft/min for inch users, with its unit."""
    if units == "inch":
        return f"{60 * speed / _FEET:.0f} ft/min"
    return f"{60 * speed:.0f} m/min"


def word_of(one: SpeedVerdict) -> str:
    """Return the word at one speed; "surely" only where nearly every draw agrees that it sings."""
    return f"surely {one.verdict}" if one.surely and one.verdict == NOISY else one.verdict


def verdict_line(verdict: Verdict, units: str) -> str:
    """Return the verdict at the user's own speeds, neighbours with one word told together."""
    groups = [(word, list(same)) for word, same in groupby(verdict.speeds, key=word_of)]
    if len(groups) == 1 and len(verdict.speeds) > 1:
        word = groups[0][0]
        text = f"{word[:1].upper()}{word[1:]} at every speed you gave."
        if verdict.speeds_assumed:
            text = f"{text.removesuffix(' you gave.')} tried."
    else:
        # The unit once, behind the first group: "Quiet at 120 and 200 rpm, may sing at 315 and 500".
        named = [_names(same, units) for _, same in groups]
        short = [named[0], *(one.rsplit(" ", 1)[0] for one in named[1:])]
        text = f"{', '.join(f'{word} at {at}' for (word, _), at in zip(groups, short, strict=True))}."
        text = text[:1].upper() + text[1:]
    if not verdict.slowing_helps and any(one.verdict != QUIET for one in verdict.speeds):
        text += " Slowing down will not help this one."
    if not verdict.poles_stable:
        text += " The rubbing flank alone may set it singing."
    return text


def tried_line(verdict: Verdict, units: str) -> str:
    """Return which speeds were tried where none were given; empty where some were."""
    if not verdict.speeds_assumed:
        return ""
    named = [surface_speed(one.cutting_speed, units) for one in verdict.speeds]
    unit = named[0].split()[1]
    return f"You gave no speeds: {listed([one.split()[0] for one in named])} {unit} were tried."


def crossing_line(verdict: Verdict, units: str) -> str:
    """Return up to which speed it stays quiet, and why; empty where the word never changes."""
    quiet, noisy = verdict.crossing.quiet_up_to, verdict.crossing.noisy_from
    if quiet is None or len({one.verdict for one in verdict.speeds}) < 2 or not verdict.slowing_helps:
        return ""
    text = f"Quiet up to about {_speed(quiet, verdict, units)}"
    if noisy is not None:
        text += f", noisy from about {_speed(noisy, verdict, units)}"
    return f"{text}. Slow cuts make short waves, and the flank rubs short waves flat."


def quiet_speed(verdict: Verdict, units: str) -> str:
    """Return the fastest of the user's speeds that is quiet, else about which one would be."""
    quiet = [one for one in verdict.speeds if one.verdict == QUIET]
    if quiet:
        return speed_name(max(quiet, key=lambda one: one.cutting_speed), units)
    reach = verdict.crossing.quiet_up_to
    return "" if reach is None or not verdict.slowing_helps else f"about {_speed(reach, verdict, units)}"


def pitch_line(verdict: Verdict, units: str) -> str:
    """Return pitch, marks and their depth at the speed whose chance is nearest even."""
    one = min(verdict.speeds, key=lambda one: abs(one.p_quiet - 0.5))
    if not (math.isfinite(one.chatter_hz) and one.chatter_hz > 0 and math.isfinite(one.wavelength)):
        return ""
    apart = fine_length(one.wavelength, units, digits=1)
    deep = small_length_text(one.ceiling, units, digits=1)
    pitch = f"near {note_name(one.chatter_hz)} ({hertz(one.chatter_hz)})"
    text = f"If it sings at {speed_name(one, units)}: {pitch}, marks {apart} apart, some {deep} deep"
    return f"{text}: a whisper." if one.whispers else f"{text}."


def _names(speeds: Sequence[SpeedVerdict], units: str) -> str:
    """Return neighbouring speeds: "120 and 200 rpm", or "120 to 500 rpm" where they are many."""
    named = [speed_name(one, units) for one in speeds]
    unit = named[0].split()[1]
    numbers = [one.split()[0] for one in named]
    if len(numbers) > _MOST_NAMED:
        return f"{numbers[0]} to {numbers[-1]} {unit}"
    return f"{listed(numbers)} {unit}"


def speed_name(one: SpeedVerdict, units: str) -> str:
    """Return one speed as the user knows it: rpm, or the cutting speed where the diameter is not known."""
    return surface_speed(one.cutting_speed, units) if one.speed_rpm is None else f"{one.speed_rpm:.0f} rpm"


def _speed(speed: float, verdict: Verdict, units: str) -> str:
    """Return a cutting speed [m/s] as rpm on this work with the cutting speed beside it."""
    told = surface_speed(speed, units)
    if verdict.diameter is None:
        return told
    rpm = 60 * speed / (math.pi * verdict.diameter)
    return f"{float(f'{rpm:.2g}'):.0f} rpm ({told})"
