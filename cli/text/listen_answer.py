"""What was heard, in words: which taps counted, the notes, how fast they die away, what to mind."""

from __future__ import annotations

from typing import Final

from stickout.cli.text.trust_words import trust_lines
from stickout.cli.text.words import folded, note_name, plain, with_error
from stickout.fem.bench.clusters import HeardMode
from stickout.fem.bench.listening import Heard, HeardFile
from stickout.fem.bench.trust import trust

TAPPING: Final = (
    "Tapping safely: spindle stopped and its drive switched off at the isolator. A light hammer or a "
    "screwdriver's handle, a hand's width of swing, on the shank beside the edge, never on the edge. "
    "Ten taps, a second or more between them, soft and loud, in the direction of the cut; "
    "phone at 5 to 10 cm, moved a little between taps."
)
HUNG: Final = (
    "The intervals hold nine times in ten. The note of a phone is sound; its loudness is no stiffness."
)


def listen_text(heard: Heard) -> str:
    """Return the answer of ``listen``."""
    lines: list[str] = []
    if heard.refused:
        lines += folded(f"No answer from this recording: {heard.refused}.")
    elif heard.modes:
        lines += folded(headline(heard.modes[0]))
    lines.append("")
    for one in heard.files:
        lines += _file_lines(one)
    if heard.modes:
        lines += ["", "Notes, loudest first"]
        for mode in heard.modes:
            lines += _mode_lines(mode)
        lines += ["", *trust_lines(trust(heard, heard.modes[0]))]
    lines += ["", *folded(HUNG), *folded(TAPPING)]
    return "\n".join(lines) + "\n"


def headline(mode: HeardMode) -> str:
    """Return the first line of an answer: the note and how fast it dies away."""
    note = mode.frequency_hz
    text = f"The bar sings at {_hz(mode)} ({note_name(note.likely)})"
    if mode.damping_ratio is None:
        return f"{text}; how fast it dies away cannot be told."
    return f"{text}, damping ratio {_damping(mode)}."


def _hz(mode: HeardMode) -> str:
    """Return a frequency with half its interval."""
    band = mode.frequency_hz
    return f"{with_error(band.likely, (band.high - band.low) / 2 / band.likely)} Hz"


def _damping(mode: HeardMode) -> str:
    """Return a damping ratio with its interval, in per cent."""
    band = mode.damping_ratio
    if band is None:
        return "not given"
    return f"{plain(100 * band.likely, 3)} % ({plain(100 * band.low, 3)} to {plain(100 * band.high, 3)} %)"


def _file_lines(one: HeardFile) -> list[str]:
    """Return how many taps of a recording counted, and why others did not."""
    rate = f"{plain(one.recording.rate_hz / 1000, 4)} kHz"
    heads = f"{one.recording.path.name} ({rate}): {len(one.taps)} taps used"
    if not one.refused_taps:
        return folded(f"{heads}, none refused." if one.taps else f"{heads}: {one.refused}.")
    lines = folded(f"{heads}, {len(one.refused_taps)} refused:")
    for tap in one.refused_taps[:12]:
        lines += folded(f"  at {tap.at_s:.2f} s: {tap.reason}", "    ")
    more = len(one.refused_taps) - 12
    return lines + ([f"  and {more} more"] if more > 0 else [])


def mode_words(mode: HeardMode) -> str:
    """Return a note and its damping ratio with their intervals."""
    pair = "; one of a close pair" if mode.pair else ""
    return f"{_hz(mode)}, damping ratio {_damping(mode)}{pair}"


def _mode_lines(mode: HeardMode) -> list[str]:
    """Return one note of the list."""
    lines = folded(f"  {mode_words(mode)}", "    ")
    for note in mode.notes:
        lines += folded(f"    {note}", "    ")
    if mode.pair:
        lines += folded(
            "    Two notes so close need taps up and down and sideways, the phone in line with each.", "    "
        )
    return lines
