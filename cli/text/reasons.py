"""The sentences behind the numbers: how the bar is held, why the hand formula differs, what to doubt."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from stickout.cli.text.words import change, percent, screw_count
from stickout.fem.setup.parts import Setup
from stickout.fem.study.levers import HandDifference
from stickout.fem.study.result import Result
from stickout.fem.units import length_text

HOW_WORDS: Final = {
    "given": "as the set-up says; seen from the free end",
    "force model": "force model; seen from the free end",
    "default split": "the usual 1 : 0.4 : 0.3 of its operation; seen from the free end",
}
# Mark at the end of a source -> the short form of the table.
_MARKS: Final = {
    "abstract opened": "abstract opened",
    "recalled, not opened": "recalled",
    "computed here": "computed here",
    "opened": "opened",
}
_SOFT_GRIP: Final = 0.25  # share of the energy in the grip from which the seat comes first


def grip_words(setup: Setup) -> str:
    """Return how the bar is held, to follow its description."""
    hold, units = setup.grip.hold, setup.units
    gripped = f"its gripped {length_text(setup.bar.gripped_mm, units)}"
    held = f"floor and top of {gripped} held still"
    if hold.pressed_mm is not None:
        start, stop = (length_text(one, units) for one in hold.pressed_mm)
        held = f"floor of {gripped} held still, top pressed from {start} to {stop} behind the holder face"
    split = "split " if hold.block is not None and hold.block.split else ""
    if setup.grip.at_both_ends:
        return "its two ends on the springs of headstock and tailstock"
    phrases = {
        "rigid": "its root held still, as if grown out of a wall",
        "held": held,
        "bed": f"{gripped} on a bed of springs",
        "slot": f"{gripped} on a slot's floor under {screw_count(hold)}",
        "sleeve": f"{gripped} in a {split}bored block",
    }
    return phrases[hold.style]


def pair_words(setup: Setup) -> str:
    """Return what an equal pair means."""
    if setup.bar.section in ("round", "tube"):
        return "A round bar has two equal ways to bend and prefers neither: the force picks this one."
    return "The bar has two equal ways to bend and prefers neither: the force picks this one."


def hand_reason(result: Result, apart: HandDifference) -> str:
    """Return one sentence or two on why solid and formula differ, and a warning where none explains it."""
    text = " ".join(_reasons(result.setup))
    low, high = apart.expected
    if not low <= apart.note <= high:
        text += (
            f" But that explains {change(low)} to {change(high)} of the note only: check the sizes before "
            "you trust either figure."
        )
    return text


def _reasons(setup: Setup) -> Iterator[str]:
    """Yield why the solid of this set-up departs from the formula, the greatest reason first."""
    counted = setup.grip.grown_out or setup.grip.bedding is not None
    if setup.shim is not None or not counted:
        yield "The formula takes the root as rigid; the steel inside the holder gives too, so it reads high."
    if setup.wrap is not None:
        yield "It leaves the wrap out, its weight and its stiffness."
    if setup.bar.steps:
        yield "At a step the thicker part takes up its load only gradually, which the formula leaves out."
    if setup.edge.end_distance_mm and not setup.grip.at_both_ends:
        yield "It loads the free end, not the edge behind it."
    if setup.edge.mass_g and (setup.edge.offset_y_mm or setup.edge.offset_z_mm):
        yield "It hangs the edge's mass on the axis, so it leaves out how that mass turns the bar."
    if setup.grip.grown_out and not setup.grip.at_both_ends:
        yield "A face held still also keeps the solid from narrowing there: some tenths of a per cent up."
    if setup.grip.bedding is not None:
        yield "The formula bends plane sections, those of the solid bulge a little: tenths of a per cent."
    if setup.bar.overhang_mm < 2 * setup.bar.widest_mm:
        yield "And a bar this short is hardly a beam."


def short_source(source: str) -> str:
    """Return the head of a source with its mark: "Levina & Reshetov 1971 (recalled)"."""
    if source.startswith("common practice"):
        return "common practice, no source"
    head = re.split(r"[,:;(]", source, maxsplit=1)[0].strip()
    mark = next((short for mark, short in _MARKS.items() if mark in source), "")
    return f"{head} ({mark})" if mark and head != mark else head


def seat_words(result: Result) -> str:
    """Return the advice to look at the seat first, where the grip holds much of the energy; else nothing."""
    inside = [name for name in result.shares if name not in ("bar", "wrap")]
    share = sum(float(result.shares[name][result.aligned]) for name in inside)
    if share < _SOFT_GRIP:
        return ""
    return f"seat and clamping, for {percent(share)} of the energy is behind the holder face"


def caution(setup: Setup) -> str:
    """Return what to believe of the answer, what it leaves out and how to test it."""
    if setup.grip.at_both_ends:
        grip = "The springs of its two ends are the least known numbers: tap or pull to settle them."
    elif setup.grip.perfect:
        grip = (
            "No holder is as stiff as the one taken here: expect a note up to 30 % lower, and more spring "
            "(common practice, no source)."
        )
    else:
        grip = "The stiffness of the touching faces is the least known number: tap or pull to settle it."
    return (
        f"An estimate, not a promise. {grip} Clamped tools measure damping ratios of 0.5 to 3 % "
        "(recalled, not opened), mostly from rubbing faces, which linear theory does not foresee. Look "
        "first at slack gibs and bearings, a dull edge, an edge off centre. To test it, isolate the drive, "
        "tap the edge and compare the note; pull with a spring scale against a dial."
    )
