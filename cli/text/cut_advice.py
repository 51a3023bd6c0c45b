"""What to try first, in a turner's order: from the changes that were rerun, and from the speeds given."""

from __future__ import annotations

import numpy as np

from stickout.cli.text.cut_table import depth_is_free
from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.lever_words import SPEEDS, gain_words, helps, lever_words
from stickout.cli.text.speed_words import quiet_speed, speed_name
from stickout.cli.text.words import force_size
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.lever import CutLever
from stickout.fem.cut.speed_verdict import QUIET

# A tool whose overhang changes the margin by less than this is not what sings.
_FELT = 1.02


def advice(answer: CutAnswer) -> str:
    """Return what to try first, in one or two sentences."""
    verdict, setup = answer.verdict, answer.result.setup
    if any(one.counts for one in verdict.heard) and verdict.try_next is not None:
        return (
            f"Try next: {verdict.try_next:.0f} rpm. It is near an even chance, so hearing it tells most. "
            "Then write it in."
        )
    if all(one.verdict == QUIET for one in verdict.speeds):
        return _quiet(answer)
    best = best_change(answer)
    if best is not None and best.key == "support":
        return f"Try first: {lever_words(best, setup)}.{_unfelt(answer)}"
    if not verdict.slowing_helps:
        return f"Try first: {_brings(answer, best)}." if best else f"Try first: {_LAST}."
    fast = quiet_speed(verdict, setup.units)
    if any(one.verdict == QUIET for one in verdict.speeds) or _near(answer):
        more = verdict.stated.verdict != QUIET and best is not None
        run = f" To run at {speed_name(verdict.stated, setup.units)}: {_gain(answer, best)}." if more else ""
        return f"Try first: {fast}.{run}"
    if best is not None and best.quiet:
        reach = f" If you cannot: {fast}." if fast else ""
        return f"Try first: {_brings(answer, best)}.{reach}"
    if fast:
        return f"Try first: {fast}.{f' Else {_brings(answer, best)}.' if best else ''}"
    return f"Try first: {_brings(answer, best)}." if best else f"Try first: {_LAST}."


_LAST = "the seat, the screws and the edge"


def best_change(answer: CutAnswer) -> CutLever | None:
    """Return the first change but speed that makes the cut quiet, else the one that helps most."""
    found = [one for one in answer.levers if helps(one) and one.key not in SPEEDS]
    if not answer.verdict.slowing_helps:  # what swings slantwise is turned before it is shortened
        found.sort(key=lambda one: one.key != "rotation")
    quiet = next((one for one in found if one.quiet), None)
    return quiet or max(found, key=lambda one: one.after.p_quiet, default=None)


def _near(answer: CutAnswer) -> bool:
    """Return whether a quiet speed lies not far under the slowest one: slowing down comes first then."""
    reach = answer.verdict.crossing.quiet_up_to
    slowest = min(one.cutting_speed for one in answer.verdict.speeds)
    return reach is not None and reach >= 0.5 * slowest


def _brings(answer: CutAnswer, lever: CutLever) -> str:
    """Return a change with what it brings: "64 mm out instead of 112: quiet at 400 rpm"."""
    at = speed_name(answer.verdict.stated, answer.result.setup.units)
    what = lever_words(lever, answer.result.setup)
    return f"{what}: quiet at {at}" if lever.quiet else f"{what}: at {at} {gain_words(lever)}"


def _gain(answer: CutAnswer, lever: CutLever | None) -> str:
    """Return a change, and what it brings where that is not quiet."""
    if lever is None:
        return ""
    words = lever_words(lever, answer.result.setup)
    return words if lever.quiet else f"{words} ({gain_words(lever)})"


def _quiet(answer: CutAnswer) -> str:
    """Return what is left to say where every speed is quiet."""
    if depth_is_free(answer):
        units, case = answer.result.setup.units, answer.case
        push = force_size(float(np.linalg.norm(case.on_tool)), units)
        at = fine_length(case.depth, units, digits=3)
        return f"Nothing needs changing. Chatter sets no depth limit here; the push does: {push} at {at}."
    return "Nothing needs changing. If it does sing, suspect post, slides or work before the bar."


def _unfelt(answer: CutAnswer) -> str:
    """Return that the tool does not matter, where its overhang is not felt."""
    short = [one.factor for one in answer.levers if one.key == "overhang"]
    return " Nothing done to the tool will be felt." if short and max(short) < _FELT else ""
