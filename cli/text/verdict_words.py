"""What a comparison says of each change, in words; never more than the bands allow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.words import listed, plain
from stickout.fem.compare.compare import Comparison, Entry
from stickout.fem.compare.rivals import (
    BEST_TURN,
    HELD,
    PLAIN,
    SHORTER,
    TALLER,
    THICKER,
    THICKER_ALL,
    TURNED,
    Rival,
)
from stickout.fem.compare.verdict import (
    ALIKE,
    BETTER,
    LESS,
    MIXED,
    MORE,
    PARTLY,
    SAME,
    UNCLEAR,
    WORSE,
    limit_measure,
)
from stickout.fem.setup.bands import Spread
from stickout.fem.units import length_text

_HEADS: Final = {
    BETTER: "better",
    WORSE: "worse",
    MIXED: "a trade",
    PARTLY: "only in part to be told",
    ALIKE: "no difference worth the work",
    UNCLEAR: "no difference that can be told",
}
_LIMIT: Final = {
    "k_zeta_n_per_m": "k·ζ, which the depth limit follows,",
    "cut_margin": "the margin of this cut",
}
# A note this much off is heard (about a half tone); said only then.
_HEARD: Final = 0.05
# Shares below this are not worth naming as the cause of a band.
_CAUSE: Final = 0.25
# Further apart than this, the cut's margin and k zeta along the force need a word on why.
_APART: Final = 1.3


def letter(number: int) -> str:
    """Return A for the first, B for the second and so on."""
    return chr(ord("A") + number) if number < 26 else f"#{number + 1}"


def entry_name(entry: Entry) -> str:
    """Return what an entry is called: the caller's name, or what a rival is."""
    if entry.rival is None:
        return entry.name
    return rival_name(entry.rival)


def rival_name(rival: Rival) -> str:
    """Return what a rival is, in the units of its set-up."""
    units = rival.setup.units
    bar = rival.setup.bar
    size = length_text(rival.amount, units)
    angle = f"{plain(rival.amount, 3)}°"
    reach, whole = ("between the ends", "length") if rival.setup.grip.at_both_ends else ("overhang",) * 2
    names = {
        SHORTER: f"10 % less {reach}: {length_text(bar.overhang_mm, units)}",
        PLAIN: "without it",
        THICKER: f"the wrap's space as bar: {size} thicker there",
        THICKER_ALL: f"bar {size} thicker over the whole {whole}, if the hole lets it in",
        TALLER: f"the shim's space as bar: no shim, shank {size} taller",
        TURNED: "turned by 90°",
        HELD: "a chuck in place of the headstock's centre",
        BEST_TURN: f"turned by {angle}, the best for this cut",
    }
    return names[rival.kind]


def verdict_text(entry: Entry, first: Entry | None = None) -> str:
    """Return the verdict on one entry against the first, in one or two sentences.

    Parameters
    ----------
    entry
        What is judged.
    first
        What it is measured against, for the reason why two measures differ; None leaves its absorber out.
    """
    verdict = entry.verdict
    if verdict is None:
        return ""
    measure = limit_measure(entry.ratios)
    clauses = [
        _spring_clause(entry.ratios["spring_m_per_n"], verdict.stiffness),
        f"{_LIMIT[measure]} {_limit_clause(entry.ratios[measure], verdict.limit)}",
    ]
    note = entry.ratios["note_hz"]
    if (note.low > 1 or note.high < 1) and abs(note.likely - 1) >= _HEARD:
        clauses.append(f"the note goes {'up' if note.likely > 1 else 'down'} {_percent(note.likely)}")
    return f"{_HEADS[verdict.kind]}. {_capital(listed(clauses))}.{''.join(_remarks(entry, first))}"


def _remarks(entry: Entry, first: Entry | None) -> Iterator[str]:
    """Yield what widens the answer, and where k zeta and the cut itself point different ways."""
    verdict, measure = entry.verdict, limit_measure(entry.ratios)
    untold = verdict is not None and verdict.limit not in (MORE, LESS, SAME)
    if untold and entry.widest is not None and entry.widest[1] >= _CAUSE:
        yield f" The widest unknown in it: the {entry.widest[0]}."
    margin, along = entry.ratios[measure].likely, entry.ratios["k_zeta_n_per_m"].likely
    if measure == "cut_margin" and not 1 / _APART < margin / along < _APART:
        hung = [one.result.setup.absorber for one in (entry, first) if one is not None]
        unseen = any(one is not None for one in hung)
        why = ": it does not see the absorber" if unseen else ", but the modes lie otherwise to the chip"
        yield f" (k·ζ along the force says {plain(along)} times{why}.)"
    if entry.rival is not None and entry.rival.kind == BEST_TURN:
        yield " The angle is good to 5° either way; further off the gain is soon lost."
    turned = entry.rival is not None and entry.rival.kind in (TURNED, BEST_TURN)
    if turned and measure == "k_zeta_n_per_m":
        yield " What turning does to the chip, k·ζ does not tell: for that the set-up needs the whole [cut]."


def surest(comparison: Comparison) -> int | None:
    """Return the index of the entry that is surely better and raises the limit most; None where none is."""
    sure = [
        (one.ratios[limit_measure(one.ratios)].low, n)
        for n, one in enumerate(comparison.entries)
        if one.verdict is not None and one.verdict.kind == BETTER
    ]
    return max(sure)[1] if sure else None


def _spring_clause(spring: Spread, told: str) -> str:
    """Return what happens to the spring; ``told`` speaks of the stiffness."""
    if told in (MORE, LESS):
        way = "less" if told == MORE else "more"
        return f"the edge springs {_percent(spring.likely)} {way}{_range(spring)}"
    if told == SAME:
        small = abs(spring.likely - 1) < 0.005
        return (
            "the spring stays as it is" if small else f"the spring hardly changes ({_signed(spring.likely)})"
        )
    return f"the edge may spring anything from {_signed(spring.low)} to {_signed(spring.high)}"


def _limit_clause(limit: Spread, told: str) -> str:
    """Return what happens to the measure that stands for the depth limit."""
    if told in (MORE, LESS):
        if 0.5 < limit.likely < 2:
            verb = "rises" if told == MORE else "falls"
            return f"{verb} by {_percent(limit.likely)}{_range(limit)}"
        return f"becomes {plain(limit.likely)} times as large ({plain(limit.low)} to {plain(limit.high)})"
    if told == SAME:
        return (
            "stays as it is" if abs(limit.likely - 1) < 0.005 else f"hardly changes ({_signed(limit.likely)})"
        )
    if limit.high == float("inf"):
        return "has no value in one of the two, since nothing is lost there"
    return f"may be anything from {plain(limit.low)} to {plain(limit.high)} times what it was"


def _range(spread: Spread) -> str:
    """Return the band in per cent where it is wide enough to be worth it."""
    if spread.high - spread.low < 0.02:
        return ""
    return f" ({_signed(spread.low)} to {_signed(spread.high)})"


def _percent(ratio: float) -> str:
    return f"{100 * abs(ratio - 1):.0f} %"


def _signed(ratio: float) -> str:
    return f"{100 * (ratio - 1):+.0f} %"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
