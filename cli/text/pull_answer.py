"""What a pull gave, in words: how far it springs, slack, what takes the movement."""

from __future__ import annotations

from typing import Final

from stickout.cli.text.words import folded, force_size, load_name, plain, spring_text, stiffness_unit
from stickout.fem.bench.pull import Pulled
from stickout.fem.bench.seat import Pulls
from stickout.fem.bench.split import CARRIER, GRIP, REST, TOOL
from stickout.fem.setup.bands import Band
from stickout.fem.units import MM, length_text

BASES: Final = {"bed": "tool, grip, post and slides", "post": "tool and grip", "holder": "the tool alone"}
PARTS: Final = {
    TOOL: "the tool itself",
    GRIP: "the grip",
    CARRIER: "post, slides and saddle",
    REST: "grip, post, slides and saddle",
}
PULLING: Final = (
    "Pull with the spindle stopped and its drive switched off at the isolator, by a cord round the shank, "
    "straight and slowly; up in three to five loads and down again, the first round not counted. Tap the "
    "dial before each reading."
)


def pull_text(told: Pulls, units: str = "mm") -> str:
    """Return the answer of ``pull`` in the units of its log."""
    lines: list[str] = []
    for number, (one, opens) in enumerate(zip(told.pulls, told.opens, strict=True), 1):
        lines += _pull_lines(one, number if len(told.pulls) > 1 else 0, units)
        if opens is not None:
            lines += folded(f"  {_opening(one, opens, units)}", "    ")
    if len(told.split) > 1 or CARRIER in told.split:
        lines += ["", f"Where the movement under {load_name(units)} comes from"]
        for name, band in told.split.items():
            how = ", computed" if name == TOOL and told.computed else ""
            lines.append(f"  {PARTS[name]}{how}: {_moved(band, units)}")
    lines += ["", *folded("The intervals hold nine times in ten."), *folded(PULLING)]
    return "\n".join(lines) + "\n"


def opened_lines(told: Pulls, units: str) -> list[str]:
    """Return a warning for each pull that may have opened its seat."""
    found = zip(told.pulls, told.opens, strict=True)
    return [
        f"Pull {at}: {_opening(one, opens, units)}"
        for at, (one, opens) in enumerate(found, 1)
        if opens is not None and one.pull.loads.max() > opens.low
    ]


def _opening(one: Pulled, opens: Band, units: str) -> str:
    """Return from which load on a seat opens, a warning where it was pulled so far."""
    low, likely, high, most = (
        force_size(at, units) for at in (opens.low, opens.likely, opens.high, one.pull.loads.max())
    )
    force = f"{likely} on ({low.split()[0]} to {high.split()[0]})"
    how = f"Screws {opens.source.removeprefix('screws ')}."
    if one.pull.loads.max() <= opens.low:
        return f"The seat stayed shut: it opens at the front from {force}. {how}"
    return (
        f"Warning: the seat opens at the front from {force}, and you pulled {most}. Beyond that force the "
        "readings are of an open seat: pull less, or tighten the screws and give their torque as screw_nm. "
        f"{how}"
    )


def _pull_lines(one: Pulled, number: int, units: str) -> list[str]:
    """Return one pull."""
    head = f"Pull {number}: " if number else ""
    where = BASES[one.pull.base]
    if one.compliance is None:
        return folded(f"{head}no answer: {one.refused}.")
    band = one.compliance
    lines = folded(
        f"{head}{where} give {_moved(band, units)} under {load_name(units)}: {stiffness_words(band, units)}, "
        f"pulled at {_place(one.pull.load_at, units)}, dial at {_place(one.pull.dial_at, units)} from the "
        "holder."
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


def stiffness_words(band: Band, units: str) -> str:
    """Return the stiffness of a compliance with its interval."""
    size, name = stiffness_unit(units)
    likely, low, high = (plain(1 / one / size, 3) for one in (band.likely, band.high, band.low))
    return f"{likely} {name} ({low} to {high})"


def _moved(band: Band, units: str) -> str:
    """Return how far it moves under the usual load, with the interval."""
    likely, low, high = (spring_text(one, units, digits=3) for one in (band.likely, band.low, band.high))
    return f"{likely} ({low.split()[0]} to {high.split()[0]})"
