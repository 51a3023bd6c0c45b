"""What a hung bar tells, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from stickout.cli.text.words import folded, plain
from stickout.fem.bench.hung import Hung
from stickout.fem.units import GPA

HANGING: Final = (
    "Hang the bare bar on two threads, each a fifth of the length from its end, and tap it in the middle. "
    "A set-up takes the modulus under [materials]."
)


def hung_text(hung: Hung, *, notes: Sequence[float]) -> str:
    """Return the answer of ``listen`` on a hung bar with the notes that were used [Hz]."""
    likely, low, high = (
        plain(one / GPA, 4) for one in (hung.modulus.likely, hung.modulus.low, hung.modulus.high)
    )
    lines = folded(f"Young's modulus {likely} GPa ({low} to {high}), from {plain(notes[0], 5)} Hz.")
    if hung.overtone is None:
        lines += folded("No overtone was heard: length and diameter are taken as measured.")
    elif hung.agrees:
        lines += folded(
            f"The overtone at {plain(notes[1], 5)} Hz fits length and diameter: the callipers agree."
        )
    else:
        apart = plain(100 * abs(hung.overtone - 1), 2)
        lines += folded(
            f"The overtone at {plain(notes[1], 5)} Hz is {apart} % off what length and diameter give: "
            "measure again, or this is no plain bar, or one of the two is another kind of note. The modulus "
            "is in doubt."
        )
    return "\n".join([*lines, "", *folded(HANGING)]) + "\n"
