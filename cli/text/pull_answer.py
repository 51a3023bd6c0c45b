"""What a pull gave, in words: how far it springs, slack, what takes the movement."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from stickout.cli.text.words import folded, load_name, plain, spring_text, stiffness_unit
from stickout.fem.bench.pull import Pulled, split_by_base
from stickout.fem.setup.bands import Band
from stickout.fem.units import MM, length_text

_BASES: Final = {"bed": "tool, grip, post and slides", "post": "tool and grip", "holder": "the tool alone"}
_PARTS: Final = {"tool": "the tool itself", "grip": "the grip", "carrier": "post, slides and saddle"}
PULLING: Final = (
    "Pull with the spindle stopped and its drive switched off at the isolator, by a cord round the shank, "
    "straight and slowly; up in three to five loads and down again, the first round not counted. Tap the "
    "dial before each reading."
)


def pull_text(pulls: Sequence[Pulled], units: str = "mm") -> str:
    """Return the answer of ``pull`` in the units of its log."""
    lines: list[str] = []
    for number, one in enumerate(pulls, 1):
        lines += _pull_lines(one, number if len(pulls) > 1 else 0, units)
    split = split_by_base(pulls)
    if len(split) > 1 or "carrier" in split:
        lines += ["", f"Where the movement under {load_name(units)} comes from"]
        lines += [f"  {_PARTS[name]}: {_moved(band, units)}" for name, band in split.items()]
    lines += ["", *folded("The intervals hold nine times in ten."), *folded(PULLING)]
    return "\n".join(lines) + "\n"


def _pull_lines(one: Pulled, number: int, units: str) -> list[str]:
    """Return one pull."""
    head = f"Pull {number}: " if number else ""
    where = _BASES[one.pull.base]
    if one.compliance is None:
        return folded(f"{head}no answer: {one.refused}.")
    band = one.compliance
    size, name = stiffness_unit(units)
    likely, low, high = (plain(1 / one / size, 3) for one in (band.likely, band.high, band.low))
    stiff = f"{likely} {name} ({low} to {high})"
    lines = folded(
        f"{head}{where} give {_moved(band, units)} under {load_name(units)}: {stiff}, pulled at "
        f"{_place(one.pull.load_at, units)}, dial at {_place(one.pull.dial_at, units)} from the holder."
    )
    for note in one.notes:
        lines += folded(f"  {note}", "    ")
    if one.loop_loss is not None:
        lines += folded(
            "  up and down differ by more than a dial's own retrace: something slips or has slack", "    "
        )
    return lines


def _place(at: float, units: str) -> str:
    """Return a place on the bar [m] to four digits."""
    return length_text(float(f"{at / MM:.4g}"), units)


def _moved(band: Band, units: str) -> str:
    """Return how far it moves under the usual load, with the interval."""
    likely, low, high = (spring_text(one, units, digits=3) for one in (band.likely, band.low, band.high))
    return f"{likely} ({low.split()[0]} to {high.split()[0]})"
