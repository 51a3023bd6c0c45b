"""The changes to a cut in words: what to do, what it brings at the speed they are told at, what it costs."""

from __future__ import annotations

from typing import Final

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.speed_words import in_ten, speed_name, surface_speed
from stickout.cli.text.words import hertz, listed, plain
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.lever import CutLever
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM, length_text

# A chance that grows by less is no help.
_WORTH: Final = 0.05
SPEEDS: Final = ("speed", "cutting_speed")
_COUNTED: Final = {"2": "twice", "3": "three times", "4": "four times", "5": "five times", "6": "six times"}
_PRICES: Final = {
    "reach": "reach",
    "rubs": "thinner than the edge can cut",
    "screws": "the screws must still bear",
    "centre": "a centre hole",
    "steady": "setting it to the work",
    "retune": "tuning it anew",
    "weaker": "a weaker blade",
    "new bar": "a new bar",
}
_IDLE: Final = {
    "support": "a centre",
    "steady": "a steady",
    "speed": "half the speed",
    "cutting_speed": "half the speed",
    "overhang": "less overhang",
    "nose_radius": "a smaller nose",
    "depth": "half the depth",
    "feed": "more feed",
    "rotation": "turning the bar",
    "absorber": "tuning the absorber anew",
    "blade": "a narrower blade",
    "material": "a carbide bar",
    "pair": "two of them at once",
}


def lever_words(lever: CutLever, setup: Setup) -> str:
    """Return a change as a turner would say it: "64 mm out instead of 80", "nose 0.2 instead of 0.4 mm"."""
    units, cut, value = setup.units, setup.cut, lever.change
    if lever.key == "pair":
        return " and ".join(_short_words(one, units) for one in lever.parts)
    if lever.key == "material":
        return "the same bar in carbide"
    if isinstance(value, str):
        return "a live centre in the end"
    if lever.key == "steady":
        return f"a steady {_long(value, units)} from the headstock"
    if lever.key == "speed":
        return f"{value:.0f} rpm"
    if lever.key == "cutting_speed":
        return surface_speed(value / 60, units)
    if lever.key == "rotation":
        return f"{_flats(value)}, {value:.0f}° instead of {setup.bar.rotation_deg:.0f}°"
    if lever.key == "absorber":
        return f"absorber tuned to {hertz(value)}"
    if lever.key == "overhang":
        also = ", absorber tuned anew" if setup.absorber else ""
        return f"{_long(value, units)} out instead of {_bare(setup.bar.overhang_mm, units)}{also}"
    if lever.key == "blade":
        return f"{_long(value, units)} blade instead of {_bare(setup.bar.width_mm or 0.0, units)}"
    if lever.key == "depth":
        return f"{_fine(value, units)} deep"
    name, now = {
        "nose_radius": ("nose", cut and cut.nose_radius_mm),
        "feed": ("feed", cut and cut.feed_mm),
    }[lever.key]
    return f"{name} {_fine(value, units).partition(' ')[0]} instead of {_fine(now or 0.0, units)}"


def _short_words(part: CutLever, units: str) -> str:
    """Return one change of a pair: "64 mm out", "a 0.2 mm nose", "0.1 mm deep"."""
    size = float(part.change)
    if part.key == "overhang":
        return f"{_long(size, units)} out"
    return f"a {_fine(size, units)} nose" if part.key == "nose_radius" else f"{_fine(size, units)} deep"


def price_words(lever: CutLever) -> str:
    """Return what a change costs: "twice the time", "reach", "a centre hole"."""
    if lever.parts:
        return listed([price_words(one) for one in lever.parts])
    if lever.key == "material" and not lever.quiet:
        return "a new bar, not enough alone"
    what = {"time": "the time", "roughness": "the roughness", "passes": "the passes"}.get(lever.price)
    if what is None:
        return _PRICES[lever.price]
    times = plain(lever.cost)
    return f"{_COUNTED.get(times, f'{times} times')} {what}"


def helps(lever: CutLever) -> bool:
    """Return whether a change is worth a line: more lathes in ten stay quiet, and that not by rounding."""
    before, after = lever.before.p_quiet, lever.after.p_quiet
    return after - before >= _WORTH and in_ten(after) != in_ten(before)


def helping(answer: CutAnswer) -> list[CutLever]:
    """Return the changes that help, in a turner's order; a little less overhang only where it will do."""
    slow = () if answer.verdict.slowing_helps else SPEEDS  # it is told above that this does not help
    found = [one for one in answer.levers if (helps(one) or one.key == "blade") and one.key not in slow]
    short = [one for one in found if one.key == "overhang"]
    if len(short) > 1 and not short[0].quiet:
        found.remove(short[0])  # a little less overhang goes unsaid where it does not do
    return found


def idle_words(answer: CutAnswer) -> str:
    """Return the changes that are no help, in one breath: "half the depth, more feed"; may be empty."""
    kept = {one.key for one in answer.levers if helps(one)} | {"blade"}
    kept |= set() if answer.verdict.slowing_helps else set(SPEEDS)
    names = dict.fromkeys(_IDLE[one.key] for one in answer.levers if one.key not in kept)
    return listed(list(names))


def change_head(answer: CutAnswer) -> str:
    """Return the head of the table of changes: "One change at a time, at 500 rpm (4 now)"."""
    stated = answer.verdict.stated
    at = speed_name(stated, answer.result.setup.units)
    return f"One change at a time, at {at} ({in_ten(stated.p_quiet)} now)"


def change_rows(answer: CutAnswer) -> list[tuple[CutLever, str, str, str]]:
    """Return each change that helps: lever, words, how many in ten stay quiet, price."""
    setup = answer.result.setup
    return [
        (one, f"{_together(one)}{lever_words(one, setup)}", in_ten(one.after.p_quiet), price_words(one))
        for one in helping(answer)
    ]


def _together(lever: CutLever) -> str:
    """Return what a pair is called in a table of single changes."""
    return "both: " if lever.parts else ""


def gain_words(lever: CutLever) -> str:
    """Return what a change brings: "7 in 10 quiet instead of 4"."""
    return f"{in_ten(lever.after.p_quiet)} in 10 quiet instead of {in_ten(lever.before.p_quiet)}"


def _flats(angle_deg: float) -> str:
    """Return an angle by what is seen from the end: the flats."""
    return {0: "flats level", 90: "flats upright"}.get(round(angle_deg) % 180, "flats turned")


def _long(size_mm: float, units: str) -> str:
    """Return a length, three digits where it is in mm: no dial is finer."""
    return length_text(float(f"{size_mm:.3g}") if units == "mm" else size_mm, units)


def _bare(size_mm: float, units: str) -> str:
    """Return a length without its unit."""
    return _long(size_mm, units).partition(" ")[0]


def _fine(size_mm: float, units: str) -> str:
    """Return a size of the cut with its unit: "0.2 mm", "8 thou"."""
    return fine_length(size_mm * MM, units, digits=3)
