"""A comparison in one screen: what each change brings, in plain words; a rule; the set-ups side by side."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.measured_words import measured_words
from stickout.cli.text.screen import cells, fitted, warned
from stickout.cli.text.speed_words import in_ten, speed_name
from stickout.cli.text.unknowns import danger_words, own_share, with_part
from stickout.cli.text.verdict_words import entry_name, letter, surest
from stickout.cli.text.words import folded, hertz, load_name, more_or_less, spring_text
from stickout.fem.compare.compare import Comparison, Entry
from stickout.fem.compare.rivals import SHORTER, Rival
from stickout.fem.compare.verdict import (
    ALIKE,
    BETTER,
    LESS,
    MIXED,
    MORE,
    PARTLY,
    SAME,
    UNCLEAR,
    UNTOLD,
    WORSE,
    limit_measure,
)
from stickout.fem.setup.bands import Spread
from stickout.fem.setup.parts import Setup
from stickout.fem.units import length_text

_MOST_LINES: Final = 20
_HEARD: Final = 0.03  # a ring further off than this is named
_SLIGHT: Final = 0.15  # what changes by less is called slight
_NARROW: Final = 0.02
_NAME_WIDTH: Final = 48
_INDENT: Final = "   "
_FOOT: Final = ("An estimate. Bands of every ratio, what was assumed, sources: --more",)


def comparison_screen(comparison: Comparison) -> str:
    """Return the comparison in one screen, at most 20 lines of 100 columns for a set-up and a change."""
    first = comparison.first
    units = first.result.setup.units
    reach = length_text(first.result.setup.bar.overhang_mm, units)
    head = folded(f"A  {first.name}, {reach} {_reach(first.result.setup)}", _INDENT)
    for at, entry in enumerate(comparison.entries):
        if entry.rival is None and at:
            head += folded(f"{letter(at)}  {_called(entry)}", _INDENT)
    head += [*warned(first.result.warnings, 1), ""]
    told = comparison.changes or comparison.rivals[:1]
    for at, entry in enumerate(comparison.entries):
        if entry in told:
            head += folded(f"{letter(at)}  {plain_verdict(comparison, entry)}", _INDENT)
    after = [*_unknown(comparison), *_tap(comparison)]
    dangers = folded(" ".join(danger_words(comparison)))
    rows = [*_rows(comparison)]
    left = _MOST_LINES - len(head) - 2 - len(dangers) - len(_FOOT)
    # What can hurt is always told; of the rest what is least asked for gives way.
    after = after[: max(left - len(rows), 0)]
    known = measured_words(first.result.setup)
    foot = (f"The seat was {known}.", *_FOOT) if known else _FOOT
    return fitted(head, [_heads(comparison), *rows, *after, *dangers], foot=foot)


def plain_verdict(comparison: Comparison, entry: Entry) -> str:
    """Return what a change brings: better, worse, a trade or not to be told; spring, ring and chance."""
    verdict = entry.verdict
    if verdict is None:
        return ""
    spring, note = entry.ratios["spring_m_per_n"], entry.ratios["note_hz"]
    parts = [_spring(spring, verdict.stiffness)]
    if abs(note.likely - 1) >= _HEARD and verdict.stiffness != UNTOLD:
        parts.append(f"ring {more_or_less(note.likely, less='lower', more='higher')}")
    untold = verdict.kind == UNCLEAR
    sign = "." if untold else ":"
    text = f"{_head(entry)}{sign} {_capital(', '.join(parts)) if untold else ', '.join(parts)}."
    return f"{text} {_chance(comparison, entry)}".strip()


def _head(entry: Entry) -> str:
    """Return the one word; never more than the bands allow."""
    verdict = entry.verdict
    if verdict is None:
        return ""
    measure = limit_measure(entry.ratios)
    ratios = (entry.ratios["stiffness_n_per_m"].likely, entry.ratios[measure].likely)
    slight = all(abs(one - 1) < _SLIGHT for one in ratios)
    heads = {
        BETTER: "Slightly better" if slight else "Better",
        WORSE: "Slightly worse" if slight else "Worse",
        MIXED: "A trade, stiffer but noisier" if verdict.stiffness == MORE else "A trade, softer but quieter",
        ALIKE: "Not worth the work",
        UNCLEAR: "Cannot be told",
        PARTLY: {
            MORE: "Stiffer; whether quieter cannot be told",
            LESS: "Softer; whether quieter cannot be told",
        }.get(verdict.stiffness, f"{'Quieter' if verdict.limit == MORE else 'Noisier'}; how stiff not told"),
    }
    return heads[verdict.kind]


def _spring(spring: Spread, told: str) -> str:
    """Return what happens to the spring; ``told`` speaks of the stiffness."""
    if told == SAME or abs(spring.likely - 1) < 0.005:
        return "same spring"
    if told == UNTOLD:
        low, high = (more_or_less(one, less="less", more="more") for one in (spring.low, spring.high))
        return f"springs {low} to {high}"
    text = f"{more_or_less(spring.likely, less='less', more='more')} spring"
    if spring.high - spring.low < _NARROW:
        return text
    ends = sorted(100 * abs(one - 1) for one in (spring.low, spring.high))
    return f"{text} ({ends[0]:.0f} to {ends[1]:.0f})"


def _chance(comparison: Comparison, entry: Entry) -> str:
    """Return the chance of both, or without a described cut what the limit at high speed does."""
    before, after = comparison.speed, comparison.at_speed(entry)
    verdict, ratio = entry.verdict, entry.ratios[limit_measure(entry.ratios)]
    if before is not None and after is not None:
        one, two = in_ten(before.p_quiet), in_ten(after.p_quiet)
        at = speed_name(before, comparison.first.result.setup.units)
        text = f"At {at} {two} in 10 quiet" + (f" instead of {one}." if one != two else ", as before.")
        lower = entry.ratios["note_hz"].likely < 1 - _HEARD
        if verdict is not None and lower and verdict.stiffness == SAME and after.p_quiet < before.p_quiet:
            text += " A lower ring makes longer waves, which the flank rubs less."
        return text
    if verdict is None or verdict.limit == SAME:
        return ""
    if verdict.limit == UNTOLD:
        return "Whether it is quieter cannot be told."
    change = more_or_less(ratio.likely, less="lighter", more="heavier")
    return f"It sings from a cut {change} on."


def _heads(comparison: Comparison) -> str:
    """Return the heads of the table."""
    units, speed = comparison.first.result.setup.units, comparison.speed
    load = load_name(units)
    last = "" if speed is None else f"quiet in 10 at {speed_name(speed, units)}"
    return cells(("", f"spring per {load}", "  ring", last), (_NAME_WIDTH, 17, 12, 23))


def _rows(comparison: Comparison) -> Iterator[str]:
    """Yield the set-ups side by side, then what the same space could do otherwise."""
    best, begun = surest(comparison), False
    units = comparison.first.result.setup.units
    for at, entry in enumerate(comparison.entries):
        if entry.rival is not None and not begun:
            begun = True
            yield "The same space spent otherwise:"
        chance = comparison.at_speed(entry)
        name = "as it is" if at == 0 else _called(entry)
        mark = "surest" if at == best and len(comparison.entries) > 2 else ""
        yield cells(
            (
                _cut_short(f"{letter(at)}  {name}"),
                spring_text(entry.values["spring_m_per_n"].likely, units),
                f"  {hertz(entry.values['note_hz'].likely)}",
                "" if chance is None else f"   {in_ten(chance.p_quiet)}",
                mark,
            ),
            (_NAME_WIDTH, 17, 12, 13, 8),
        )


def _called(entry: Entry) -> str:
    """Return what an entry is called, short: a change of overhang or shim by what it does."""
    setup, name = entry.result.setup, entry_name(entry)
    if entry.rival is not None:
        return _rival(entry.rival, name)
    keys = {one.partition("=")[0] for one in name.removeprefix("A with ").split(", with ")}
    if not name.startswith("A with "):
        return name
    if keys == {"bar.overhang"}:
        return f"{length_text(setup.bar.overhang_mm, setup.units)} {_reach(setup)}"
    if setup.shim is not None and keys <= {"shim.thickness", "shim.material"}:
        return f"on {length_text(setup.shim.thickness_mm, setup.units)} {setup.materials['shim'].name}"
    return name.removeprefix("A ")


def _rival(rival: Rival, name: str) -> str:
    """Return what a rival is, short enough for the table."""
    if rival.kind == SHORTER:
        reach = length_text(rival.setup.bar.overhang_mm, rival.setup.units)
        return f"{reach} {_reach(rival.setup)}, a tenth less"
    return name.rpartition(": ")[2].partition(", if ")[0]


def _reach(setup: Setup) -> str:
    """Return what a bar's length is: what stands out, or what lies between its two ends."""
    return "between ends" if setup.grip.at_both_ends else "out"


def _cut_short(name: str) -> str:
    """Return a name that leaves a gap before the next column."""
    return name if len(name) < _NAME_WIDTH - 1 else f"{name[: _NAME_WIDTH - 3].rstrip()}…"


def _unknown(comparison: Comparison) -> Iterator[str]:
    """Yield what no number of the table can tell, a line each."""
    shimmed, loose = with_part(comparison, "shim"), with_part(comparison, "wrap", bond="loose")
    yield from folded(" ".join(_both_readings(comparison)))
    if _turned_over(comparison):
        yield from folded(
            "Front against rear leaves out what differs most: the other post, a slide that is lifted or "
            "pressed down, where the chips fall."
        )
    if shimmed is not None:
        metal = shimmed.result.setup.materials["shim"].name
        yield from folded(
            f"{_capital(metal)} soaks up {own_share(shimmed, 'shim')}; it changes how the faces meet, and "
            "helps a seat that rocks."
        )
    if loose is not None:
        yield from folded("Loose turns count as weight; what they rub away cannot be computed.")


def _turned_over(comparison: Comparison) -> bool:
    """Return whether a tool at the front is compared with one at the rear."""
    cuts = [one.result.setup.cut for one in (comparison.first, *comparison.changes)]
    return len({one.rear_tool for one in cuts if one is not None}) > 1


def _both_readings(comparison: Comparison) -> Iterator[str]:
    """Yield what a change does to the depth limit if damping stays, and if the grip loses by its share."""
    for at, entry in enumerate(comparison.entries):
        both = entry.readings
        if both is not None and both.depends and entry in comparison.changes:
            one, two = (
                more_or_less(ratio, less="lower", more="higher")
                for ratio in (both.same_damping, both.by_share)
            )
            yield (
                f"{letter(at)} depends on where it damps: the limit at high speed is {one} if damping stays "
                f"as it is, {two} if the grip alone damps."
            )


def _tap(comparison: Comparison) -> list[str]:
    """Return the two taps that settle it, with the ring to expect; not where an absorber has two rings."""
    changed = comparison.changes
    if not changed or changed[0].result.setup.absorber != comparison.first.result.setup.absorber:
        return []
    note = changed[0].values["note_hz"]
    ends = f"{hertz(note.low)} to {hertz(note.high)}"
    return folded(f"To settle it: tap before and after, same torque; B should ring at {ends}.")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
