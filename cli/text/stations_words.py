"""The cut along the part in words: where it sings first, speeds between the lobes, a wall that rings."""

from __future__ import annotations

import math
from collections.abc import Sequence

from stickout.cli.text.words import hertz, listed, margin_figure
from stickout.fem.beam.thin_wall import free_ring_notes, has_thin_piece, is_thin
from stickout.fem.cut.along import CutStation
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.setup.parts import Setup
from stickout.fem.units import length_text, rounded


def stations_line(along: Sequence[CutStation], units: str) -> str:
    """Return where a part cut at several places sings first, before and after the pass; else nothing."""
    if not along:
        return ""
    worst = min(along, key=lambda one: min(one.margin, one.after))
    others = [one for one in along if one is not worst]
    place = length_text(worst.at_mm, units)
    first = "is nearest to singing" if worst.margin > 1 else "sings first"
    told = listed([f"{margin_words(one.margin)} at {length_text(one.at_mm, units)}" for one in others])
    now, then = margin_words(worst.margin), margin_words(worst.after)
    after = f", {then} once the part is turned down" if then != now else ""
    return (
        f"Of its places it {first} at {place} from the headstock: margin {now}{after}; "
        f"elsewhere {told}. Told is that place."
    )


def pockets_line(answer: CutAnswer) -> str:
    """Return the speeds between the lobes where a low note makes them real, or that there are none."""
    found = answer.pockets
    if found is None:
        return ""
    if not found.quiet:
        return (
            f"No speed from {_rpm(found.slowest)} to {_rpm(found.fastest)} rpm slips between the waves: the "
            f"best, {_rpm(found.best_rpm)} rpm, has a margin of {margin_words(found.best_margin)}."
        )
    runs = listed([f"{_rpm(one.low)} to {_rpm(one.high)} rpm" for one in found.quiet[-2:]])
    widest = max(found.quiet, key=lambda one: one.margin)
    low, high = (_rpm(ratio * end) for ratio, end in zip(found.shift, (widest.low, widest.high), strict=True))
    return (
        f"Good speeds between the waves: {runs}, margin {margin_words(widest.margin)} at best. They move "
        f"with the part's note: as chucks and centres vary, the best from {low} to {high} rpm. Tap it to "
        "place them."
    )


def angle_line(answer: CutAnswer) -> str:
    """Return what a part that is not round does: quiet, noisy, or in the grey band between its angles."""
    found = answer.angle
    if found is None:
        return ""
    weak, mean = margin_words(found.weakest), margin_words(found.mean)
    if found.weakest > 1:
        said = "quiet at every angle"
    elif found.mean < 1:
        said = "it sings on average already"
    else:
        said = "grey: quiet on average, not at its weakest"
    told = f"margin {mean}" if weak == mean else f"margin {weak} at its weakest angle, {mean} on average"
    return f"The part is not round: {told}, {said}. Blows of a broken cut are forced and not counted."


def wall_line(setup: Setup) -> str:
    """Return what a thin wall does; nothing for other parts."""
    work = setup.work
    if work is None or not has_thin_piece(work):
        return ""
    counted = "this limit leaves that out"
    if is_thin(work) and work.held == "chuck":
        counted = "this limit counts it, its hold and its damping are guessed"
    material = setup.materials["work"]
    numbers = {"youngs_modulus": material.youngs_modulus.likely, "density": material.density.likely}
    note = hertz(float(free_ring_notes(work, **numbers)[0]))
    return f"The thin wall rings by itself, from {note} up; {counted}. Pack it with rags."


def margin_words(value: float) -> str:
    """Return a margin; a great one is without limit."""
    return margin_figure(value) if math.isfinite(value) and value < 1e3 else "without limit"


def _rpm(value: float) -> str:
    """Return a spindle speed to two or three digits."""
    return rounded(value, 3 if value >= 100 else 2)
