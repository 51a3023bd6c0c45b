"""What a recorded cut tells, in words: forced or self-excited, which mode, and the lines it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.words import folded, listed, note_name, percent, plain
from stickout.fem.bench.cutting import FORCED, NONE, SINGS, UNTOLD, Squeal
from stickout.fem.bench.lines import GEAR, IDLE, MAINS, OFF, SPINDLE, UNSURE, Line
from stickout.fem.bench.squeal import LEAST_CRESTS, Match, mark_pitch
from stickout.fem.units import small_length_text

VERDICTS: Final = {
    FORCED: "Forced: the machine shakes the cut",
    SINGS: "Chatter: the cut sings by itself",
    UNTOLD: "Forced or chatter cannot be told from this",
    NONE: "No squeal",
}
KINDS: Final = {
    SPINDLE: "spindle",
    MAINS: "mains",
    GEAR: "gear mesh",
    IDLE: "there without a cut too",
    OFF: "off the spindle's lines",
    UNSURE: "speed not known well enough",
}
_SIDES: Final = {
    1: "one turn (runout)",
    2: "half a turn (a flat or keyway)",
    3: "a third of a turn (the jaws)",
}
_MOST_LINES: Final = 12
_MEND: Final = {
    FORCED: "Look for runout, belt, jaws or gears, and change the speed: the note goes with it.",
    SINGS: "A slower speed, a shorter overhang or a smaller nose calm it: see `cut`.",
}


def squeal_text(heard: Squeal, *, diameter: float | None, units: str) -> str:
    """Return the answer of ``listen`` on a recorded cut; diameter of the work [m] where it is known."""
    lines = folded(f"{VERDICTS[heard.verdict]}: {heard.why}.")
    note = heard.note
    if note is not None:
        lines += folded(f"The note: {plain(note.hz, 5)} Hz ({note_name(note.hz)}).")
    if heard.match is not None:
        lines += _match(heard.match)
    if heard.sidebands:
        sides = listed([_SIDES[one] for one in heard.sidebands])
        lines += folded(f"It swells {sides}: lines on both sides of it say so.")
    if note is not None and diameter is not None:
        pitch = mark_pitch(diameter, 60.0 * heard.comb.turns, hz=note.hz)
        lines += folded(
            f"If it marks the work, the marks lie {small_length_text(pitch, units, digits=2)} apart: count "
            f"{LEAST_CRESTS} of them. Experimental: marks of the bar's own chatter step toward the feed from "
            "turn to turn."
        )
    if heard.verdict in _MEND:
        lines += folded(_MEND[heard.verdict])
    lines += ["", *_table(heard)]
    return "\n".join(lines) + "\n"


def _match(match: Match) -> list[str]:
    """Return which mode it is, or that none is sure."""
    ranked = sorted(match.shares.items(), key=lambda one: -one[1])
    told = listed([f"{name} {percent(share)}" for name, share in ranked[:3]])
    if match.best is not None:
        return folded(f"It is {match.best}, {percent(match.shares[match.best])} sure.")
    below = " It lies below every mode of the model: look at post, slides and work." if match.below else ""
    return folded(f"Which mode it is is not sure enough to say: {told}.{below}")


def _table(heard: Squeal) -> Iterator[str]:
    """Yield the speed and the loudest lines."""
    comb = heard.comb
    how = "by its own lines" if comb.heard else "as given"
    yield f"Spindle {plain(60 * comb.turns, 4)} rpm {how}, known to {plain(100 * comb.error)} %"
    yield f"  {'Hz'.rjust(9)}{'times spindle'.rjust(16)}{'dB'.rjust(7)}   what"
    for one in heard.lines[:_MOST_LINES]:
        yield _row(one)


def _row(one: Line) -> str:
    """Return one line of the table."""
    return f"  {one.hz:9.1f}{one.order:16.2f}{one.level_db:7.0f}   {KINDS[one.kind]}"
