"""What was heard in words: the cuts themselves, and what they say of the edge or against the model."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.words import hertz, listed
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.units import MM

# The edge is said to rub less or more than usual from this far on.
_OFF: Final = 1.15


def heard_line(answer: CutAnswer) -> str:
    """Return the cuts that were heard: "Heard: sang at 800 rpm, 0.5 mm deep."; empty without any."""
    units, cut = answer.result.setup.units, answer.case.cut
    told = []
    for one in (each.cut for each in answer.verdict.heard):
        depth = fine_length((one.depth_mm or cut.depth_mm or 0.0) * MM, units, digits=3)
        how = "sang" if one.heard == "sang" else "quiet"
        told.append(f"{how} at {one.rpm:.0f} rpm, {depth} deep")
    return f"Heard: {'; '.join(told)}." if told else ""


def heard_lines(answer: CutAnswer) -> Iterator[str]:
    """Yield what the heard cuts say: of the edge, or that something else sang."""
    verdict, units = answer.verdict, answer.result.setup.units
    if not verdict.heard:
        return
    strange = [one.cut.pitch_hz for one in verdict.heard if not one.counts and one.cut.pitch_hz is not None]
    if verdict.diameter is None:
        yield "What you heard cannot count: the cutting speed needs work_diameter in [cut]."
    elif strange:
        yield (
            f"You heard {listed([hertz(one) for one in strange])}; this tool rings at "
            f"{hertz(verdict.stated.chatter_hz)}. Something else sang: post, slides or work. The odds stay."
        )
    counted = [one for one in verdict.heard if one.counts]
    if not counted:
        return
    usual, after = verdict.wave_star.likely, verdict.wave_after
    if not 1 / _OFF < after / usual < _OFF:
        way = "less" if after < usual else "more"
        wave = fine_length(after, units, digits=2)
        was = fine_length(usual, units, digits=2).partition(" ")[0]
        seems = f"Your edge seems to rub {way} than usual"
        yield f"{seems}: waves under {wave} are flattened ({was} was assumed)."
    moved = "One cut moves" if len(counted) == 1 else "A few cuts move"
    yield f"{moved} the odds, no more. Best test: slow down while it sings and note where it stops."
