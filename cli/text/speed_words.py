"""The verdict of a cut in words, speed by speed: quiet, may sing, noisy, and how many in ten stay quiet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby
from typing import Final

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.words import listed
from stickout.fem.cut.speed_verdict import NOISY, QUIET, SpeedVerdict
from stickout.fem.cut.verdict import Verdict
from stickout.fem.units import FOOT, cut_down

_MOST_NAMED: Final = 3  # neighbouring speeds with one word; more are told as a range


def in_ten(chance: float) -> str:
    """Return how many of ten lathes set up like this stay quiet, rounded down; 9 and <1 at the ends."""
    whole = min(math.floor(10 * chance + 1e-9), 9)
    return "<1" if whole < 1 else str(whole)


def surface_speed(speed: float, units: str) -> str:
    """Return a cutting speed [m/s] in m/min, or ft/min for inch users, with its unit."""
    if units == "inch":
        return f"{60 * speed / FOOT:.0f} ft/min"
    return f"{60 * speed:.0f} m/min"


def surface_number(one: SpeedVerdict, units: str) -> str:
    """Return the cutting speed at a speed without its unit; one that nobody gave is told in tens of feet."""
    number = surface_speed(one.cutting_speed, units).split()[0]
    return _tens(float(number)) if units == "inch" and _assumed(one) else number


def rpm_words(one: SpeedVerdict) -> str:
    """Return the spindle speed without its unit: as given, or in tens where it was only tried."""
    if one.speed_rpm is None:
        return "-"
    return _tens(one.speed_rpm) if _assumed(one) and one.speed_rpm > 100 else f"{one.speed_rpm:.0f}"


def _assumed(one: SpeedVerdict) -> bool:
    """Return whether a speed was tried because none was given: it is no whole number of turns."""
    return one.speed_rpm is None or one.speed_rpm != round(one.speed_rpm)


def _tens(number: float) -> str:
    """Return a number to its tens."""
    return f"{10 * round(number / 10):.0f}"


def word_of(one: SpeedVerdict) -> str:
    """Return the word at one speed; "surely" only where nearly every draw agrees that it sings."""
    return f"surely {one.verdict}" if one.surely and one.verdict == NOISY else one.verdict


def verdict_line(verdict: Verdict, units: str) -> str:
    """Return the verdict at the user's own speeds, neighbours with one word told together."""
    groups = [(word, list(same)) for word, same in groupby(verdict.speeds, key=word_of)]
    if len(groups) == 1 and verdict.speeds_assumed and len(verdict.speeds) == _MOST_NAMED:
        text = f"{_capital(groups[0][0])} at all three."
    elif len(groups) == 1 and len(verdict.speeds) > _MOST_NAMED:
        text = f"{_capital(groups[0][0])} at every speed you gave."
    else:
        # The unit once, behind the first group: "Quiet at 120 and 200 rpm, may sing at 315 and 500".
        named = [_names(same, units) for _, same in groups]
        short = [named[0], *(one.rsplit(" ", 1)[0] for one in named[1:])]
        text = _capital(
            f"{', '.join(f'{word} at {at}' for (word, _), at in zip(groups, short, strict=True))}."
        )
    if not verdict.slowing_helps and any(one.verdict != QUIET for one in verdict.speeds):
        text += " Slowing down will not help this one."
    if not verdict.poles_stable:
        text += " The rubbing flank alone may set it singing."
    return text


def _capital(text: str) -> str:
    """Return a text with a capital in front."""
    return text[:1].upper() + text[1:]


def tried_line(verdict: Verdict, units: str) -> str:
    """Return which speeds were tried where none were given; empty where some were."""
    if not verdict.speeds_assumed:
        return ""
    named = [surface_number(one, units) for one in verdict.speeds]
    return f"You gave no speeds: {listed(named)} {'ft/min' if units == 'inch' else 'm/min'} were tried."


def crossing_line(verdict: Verdict, units: str) -> str:
    """Return up to which speed it stays quiet, and why; empty where there is nothing to say."""
    quiet, noisy = verdict.crossing.quiet_up_to, verdict.crossing.noisy_from
    words = {one.verdict for one in verdict.speeds}
    if words == {QUIET}:
        return ""
    if not verdict.slowing_helps:
        return _too_long(verdict, units)
    if quiet is None:
        return ""
    if words == {NOISY}:
        return f"{_too_long(verdict, units)} Quiet up to about {_speed(quiet, verdict, units)} only."
    text = f"Quiet up to about {_speed(quiet, verdict, units)}"
    if noisy is not None and NOISY in words:
        text += f", noisy from about {_speed(noisy, verdict, units, bare=True)}"
    return f"{text}. Slow cuts make short waves, and the flank rubs short waves flat."


def _too_long(verdict: Verdict, units: str) -> str:
    """Return that even the slowest wave is too long to be rubbed flat."""
    slowest = min(verdict.speeds, key=lambda one: one.cutting_speed)
    wave = fine_length(slowest.wavelength, units, digits=2)
    return f"Even at {speed_name(slowest, units)} the wave is {wave}, too long for the flank to rub flat."


def quiet_speed(verdict: Verdict, units: str) -> str:
    """Return the fastest of the user's speeds that is quiet, else about which one would be."""
    quiet = [one for one in verdict.speeds if one.verdict == QUIET]
    if quiet:
        return speed_name(max(quiet, key=lambda one: one.cutting_speed), units)
    reach = verdict.crossing.quiet_up_to
    return "" if reach is None or not verdict.slowing_helps else f"about {_speed(reach, verdict, units)}"


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
    return surface_speed(one.cutting_speed, units) if one.speed_rpm is None else f"{rpm_words(one)} rpm"


def _speed(speed: float, verdict: Verdict, units: str, *, bare: bool = False) -> str:
    """Return a cutting speed [m/s] as rpm on this work, with the cutting speed beside it unless ``bare``."""
    told = surface_speed(speed, units)
    if verdict.diameter is None:
        return told
    rpm = f"{cut_down(60 * speed / (math.pi * verdict.diameter), 2):.0f}"
    return rpm if bare else f"{rpm} rpm ({told})"
