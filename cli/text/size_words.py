"""The small words of ``size``: a bar by name, the room it has."""

from __future__ import annotations

from typing import Final

from stickout.cli.text.words import plain
from stickout.fem.size.job import Bore, SizeJob
from stickout.fem.size.options import LARGEST, Option
from stickout.fem.size.size import SizeAnswer
from stickout.fem.units import MM, length_text

_ARTICLES: Final = {"aluminium": "an", "annealed copper": "an", "acetal": "an"}


def bar_words(option: Option, units: str, *, article: bool = True) -> str:
    """Return a bar by material, shape, size, and how it comes: "a steel round bar of 15 mm, as sold"."""
    name = option.setup.bar_material.name
    size = sizes_of(option, units)
    made = "to size" if option.made == LARGEST else "as sold"
    if option.shape == "stepped":
        made = f"turned from {length_text(option.setup.bar.diameter_mm or 0.0, units)}"
        if (option.setup.bar.diameter_mm or 0.0) < option.size_mm:
            made = f"shank turned to {length_text(option.setup.bar.diameter_mm or 0.0, units)}"
    sleeve = ", in a sleeve" if option.sleeve_mm is not None else ""
    if not article:
        return f"{name}, {size}, {made}{sleeve}"
    kind = "shank" if option.shape == "rectangle" else "bar"
    return f"{_ARTICLES.get(name, 'a')} {name} {kind}, {size}, {made}{sleeve}"


def sizes_of(option: Option, units: str) -> str:
    """Return shape and size of the part that sticks out."""
    bar, size = option.setup.bar, size_text_of(option.size_mm, units)
    match option.shape:
        case "square":
            return f"square {size}"
        case "rectangle":
            wide, high = (size_text_of(one or 0.0, units) for one in (bar.width_mm, bar.height_mm))
            return f"{wide} wide, {high} high"
        case "flatted":
            return f"flatted {size}, {size_text_of(bar.across_flats_mm or 0.0, units).split()[0]} across"
        case "tube":
            return f"tube {size}, bore {size_text_of(bar.bore_mm or 0.0, units)}"
    return f"round {size}"


def size_text_of(length_mm: float, units: str) -> str:
    """Return a size to four digits."""
    return f"{length_mm / 25.4:.4g} in" if units == "inch" else f"{length_mm:.4g} mm"


def room_words(option: Option, job: SizeJob) -> str:
    """Return what room a bar has round it."""
    units = job.units
    if option.place is None or not isinstance(job.work, Bore):
        if isinstance(job.work, Bore) or job.work.groove_mm is None:
            return "the shank may be as wide as the post takes; one side is open."
        return f"{size_text_of(job.clearance_mm, units)} on each side of the blade in the groove."
    gaps = option.place.gaps
    share = plain(option.size_mm / job.work.bore_mm, 2)
    raised = job.room.raised_mm
    height = (
        f", its axis {size_text_of(abs(raised), units)} {'above' if raised > 0 else 'below'} the edge"
        if raised
        else ""
    )
    return (
        f"in front {gap_text(gaps.front, units)}, which the cutter bridges; behind "
        f"{gap_text(gaps.behind, units)}, for the chips; the bar is {share} of the hole{height} "
        "(0.7 to 0.8 is usual)."
    )


def gap_text(length: float, units: str) -> str:
    """Return a gap given in metres."""
    return size_text_of(float(f"{length / MM:.3g}") if units == "mm" else round(length / MM, 4), units)


def short_gap(length: float, units: str) -> str:
    """Return a gap given in metres, as short as a table wants it."""
    return f"{length / MM / 25.4:.3g} in" if units == "inch" else f"{length / MM:.2g} mm"


def across_words(answer: SizeAnswer) -> str:
    """Return what the allowance costs in words; empty where the best bar needs no remark."""
    best = answer.best.option
    if best.sleeve_mm is None:
        return ""
    hole = size_text_of(best.sleeve_mm, answer.job.units)
    return f"A sleeve fills the holder's hole of {hole}; its own give is not in it."
