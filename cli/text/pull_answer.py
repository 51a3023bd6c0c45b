"""What a pull gave, in words: how far it springs, slack, what takes the movement."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from stickout.cli.text.words import LOAD_N, folded, plain
from stickout.fem.bench.pull import Pulled, split_by_base
from stickout.fem.setup.bands import Band
from stickout.fem.units import MM

_BASES: Final = {"bed": "tool, grip, post and slides", "post": "tool and grip", "holder": "the tool alone"}
_PARTS: Final = {"tool": "the tool itself", "grip": "the grip", "carrier": "post, slides and saddle"}
PULLING: Final = (
    "Pull with the spindle stopped and its drive switched off at the isolator, by a cord round the shank, "
    "straight and slowly; up in three to five loads and down again, the first round not counted. Tap the "
    "dial before each reading."
)


def pull_text(pulls: Sequence[Pulled]) -> str:
    """Return the answer of ``pull``."""
    lines: list[str] = []
    for number, one in enumerate(pulls, 1):
        lines += _pull_lines(one, number if len(pulls) > 1 else 0)
    split = split_by_base(pulls)
    if len(split) > 1 or "carrier" in split:
        lines += ["", f"Where the movement under {plain(LOAD_N)} N comes from"]
        lines += [f"  {_PARTS[name]}: {_moved(band)}" for name, band in split.items()]
    lines += ["", *folded("The intervals hold nine times in ten."), *folded(PULLING)]
    return "\n".join(lines) + "\n"


def _pull_lines(one: Pulled, number: int) -> list[str]:
    """Return one pull."""
    head = f"Pull {number}: " if number else ""
    where = _BASES[one.pull.base]
    if one.compliance is None:
        return folded(f"{head}no answer: {one.refused}.")
    band = one.compliance
    stiff = (
        f"{plain(1e-6 / band.likely, 3)} N/µm ({plain(1e-6 / band.high, 3)} to {plain(1e-6 / band.low, 3)})"
    )
    lines = folded(
        f"{head}{where} give {_moved(band)} under {plain(LOAD_N)} N: {stiff}, pulled at "
        f"{plain(one.pull.load_at / MM, 4)} mm, dial at {plain(one.pull.dial_at / MM, 4)} mm from the holder."
    )
    for note in one.notes:
        lines += folded(f"  {note}", "    ")
    if one.loop_loss is not None:
        lines += folded(
            "  up and down differ by more than a dial's own retrace: something slips or has slack", "    "
        )
    return lines


def _moved(band: Band) -> str:
    """Return how far it moves under the usual load, with the interval."""
    likely, low, high = (plain(1e6 * LOAD_N * one, 3) for one in (band.likely, band.low, band.high))
    return f"{likely} µm ({low} to {high})"
