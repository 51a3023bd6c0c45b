"""The answer of ``modes`` in one screen: spring, ring, what to try; then modes, what gives, changes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from stickout.cli.text.measured_words import measured_words
from stickout.cli.text.screen import (
    bar_line,
    cells,
    fitted,
    lean_words,
    load_felt,
    reach_words,
    warned,
)
from stickout.cli.text.words import (
    change,
    folded,
    hertz,
    load_name,
    more_or_less,
    note_name,
    percent,
    plain,
    size_words,
    spring_text,
    way_words,
)
from stickout.fem.setup.changes import thickened, with_overhang
from stickout.fem.setup.checks import WITHOUT
from stickout.fem.setup.measured import loss_measured
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_numbers
from stickout.fem.study.levers import Lever, hand_difference, rerun, spread
from stickout.fem.study.result import Result
from stickout.fem.units import MM_PER_INCH, length_text

_SHARES: Final = (0.9, 0.8)  # of the overhang: what is tried shorter
_THICKER: Final = ((10.0, 1.0), (15.0, 2.0), (1e9, 4.0))  # up to this size [mm], this much more
_MOST_MODES: Final = 4
_STRAIGHT: Final = 0.05
_INSIDE: Final = 0.5  # share of the energy behind the holder face from which that comes first
_NOTICED: Final = 0.95  # spring over the old spring below which a change is worth telling first
_PLACES: Final = {
    "bar": "bar outside the holder",
    "grip": "bar inside it",
    "bed": "seat",
    "holder": "block",
    "bar on floor": "seat",
    "shim on floor": "under the shim",
    "bar on shim": "over the shim",
    "screws on bar": "under the screws",
    "bar in sleeve": "seat",
    "post": "post and slides",
}


def modes_screen(result: Result) -> str:
    """Return the answer in one screen, at most 25 lines of 100 columns; changes are solved anew for it."""
    levers = rerun(result, list(changes_of(result.setup)))
    setup = result.setup
    head = [
        *folded(setup.title or "Untitled set-up"),
        *folded(f"{bar_line(setup)}."),
        *warned([one for one in result.warnings if one != WITHOUT]),
        "",
        *_spring(result),
        *_ring(result),
        *_first(result, levers),
    ]
    table = [*_modes(result), *_gives(result), *_changes(result, levers)]
    return fitted(head, table, foot=[*_seat(result), *_foot(result)])


def changes_of(setup: Setup) -> Iterator[Setup]:
    """Yield the changes that are tried: a tenth and a fifth less overhang, a thicker bar."""
    for share in _SHARES:
        new = with_overhang(setup, _handy(share * setup.bar.overhang_mm, setup.units))
        if new is not None and new.bar.overhang_mm < setup.bar.overhang_mm:
            yield new
    new = thickened(setup, _thicker_mm(setup))
    if new is not None:
        yield new


def _handy(length_mm: float, units: str) -> float:
    """Return a length rounded to what a rule shows: whole mm, or sixteenths of an inch."""
    step = MM_PER_INCH / (8 if length_mm > MM_PER_INCH else 16) if units == "inch" else 1.0
    return max(1.0, round(length_mm / step)) * step


def _thicker_mm(setup: Setup) -> float:
    """Return the next size up, less this one [mm]."""
    if setup.units == "inch":
        return MM_PER_INCH / 8
    return next(more for size, more in _THICKER if setup.bar.widest_mm <= size)


def _spring(result: Result) -> list[str]:
    """Return how far the edge springs."""
    units = result.setup.units
    way = "the way the cut pushes" if result.setup.cut else "straight down (the set-up has no [cut])"
    spring = spring_text(result.compliance_along, units, digits=digits_of(result))
    return folded(f"The edge springs {spring} for {load_felt(units)} pushed {way}.")


def _ring(result: Result) -> list[str]:
    """Return what a tap sounds like."""
    at, rival = result.aligned, rival_of(result)
    note = float(result.frequency_hz[at])
    text = f"Tapped, it rings at about {hertz(note)}, near {note_name(note)}, {_swinging(result, at)}"
    if rival is not None:
        text += f"; and at {hertz(float(result.frequency_hz[rival]))}, {_swinging(result, rival)}: watch both"
    return folded(f"{text}.")


def _swinging(result: Result, at: int) -> str:
    """Return which way a mode swings the edge."""
    x, y, z = direction_of(result, at)
    words = way_words((x, y, z), kind=result.kinds[at])
    return f"swinging {lean_words(y, z)}" if "°" in words else words


def _first(result: Result, levers: Sequence[Lever]) -> list[str]:
    """Return what to try first: the strongest cut of the overhang."""
    shorter = [one for one in levers if one.setup.bar.overhang_mm < result.setup.bar.overhang_mm]
    if not shorter or min(one.compliance_along for one in shorter) > _NOTICED:
        if result.setup.grip.at_both_ends:
            return folded("Try first: a short quill and tight centres; a thicker bar if the hole lets it in.")
        return folded("Try first: a clean seat and tight screws; a shorter reach brings little here.")
    best = min(shorter, key=lambda one: one.compliance_along)
    old, new = (one.bar.overhang_mm for one in (result.setup, best.setup))
    units = result.setup.units
    less = more_or_less(best.compliance_along, less="less", more="more")
    instead = length_text(old, units).split()[0]
    return folded(f"Try first: {length_text(new, units)} out instead of {instead}: {less} spring.")


def _modes(result: Result) -> Iterator[str]:
    """Yield the table of modes, the first ones and the one the cut drives."""
    widths = (5, 10, 33, 24, 28)
    force = "cut" if result.setup.cut else "force"
    yield cells(("", "ring", "swings", f"share along the {force}", _damping_head(result)), widths)
    shown = sorted({*range(min(_MOST_MODES, result.n_modes)), result.aligned})
    for at in shown:
        mark = ">" if at == result.aligned else " "
        note = hertz(float(result.frequency_hz[at]))
        share = percent(float(result.alignment[at])) if result.moves[at] else "-"
        ratio = f"{plain(50 * float(result.loss.likely[at]))} %"
        yield cells((f"{mark} {at + 1}", note, _way(result, at, shown), share, ratio), widths)
    driven = "the cut drives" if result.setup.cut else "the push drives"
    text = f"> is the one {driven}."
    if any(result.aligned in one for one in result.pairs):
        text += " The bar swings as easily one way as another; the push picks."
    elif rival_of(result) is not None:
        text = "> carries most of the spring. In a cut the other can sing first: see `stickout cut`."
    elif result.setup.cut and bool(np.any(result.moves[: result.aligned])):
        text = "> carries most of the spring. In a cut a lower one can sing first: see `stickout cut`."
    yield from folded(text)


def _way(result: Result, at: int, shown: Sequence[int]) -> str:
    """Return which way a mode swings, in the words of a table."""
    twin = next((i for i, j in result.pairs if j == at and i in shown), None)
    if twin is not None and not np.allclose(result.modes.edge[at], 0.0):
        return "across that"
    words = way_words(direction_of(result, at), kind=result.kinds[at])
    return f"post, {words}" if result.kinds[at] == "post" else words


def _gives(result: Result) -> Iterator[str]:
    """Yield where the aligned mode gives, and what that asks for."""
    if len(result.shares) < 2:
        return
    at = result.aligned
    places: dict[str, float] = {}
    for name, values in result.shares.items():
        place = _PLACES.get(name, name)
        places[place] = places.get(place, 0.0) + float(values[at])
    ranked = sorted(places.items(), key=lambda one: -one[1])
    told = [f"{name} {percent(share)}" for name, share in ranked if share >= 0.005]
    post = places.get(_PLACES["post"], 0.0)
    inside = 1 - post - sum(places.get(one, 0.0) for one in (_PLACES["bar"], "wrap"))
    packing = " flat packing," if result.setup.grip.hold.screws_mm else ""
    advice = f" Clean seat,{packing} screws tight." if inside > _INSIDE else ""
    advice += " Snug the gibs, lock what need not slide, bolt the post down." if post > _INSIDE else ""
    yield from folded(f"Where it gives: {', '.join(told)}.{advice}")


def _changes(result: Result, levers: Sequence[Lever]) -> Iterator[str]:
    """Yield the changes as a table, each solved anew."""
    cut, bar = result.setup.cut, result.setup.bar
    if cut is not None and cut.operation == "parting":  # a thicker blade cuts another groove
        levers = [one for one in levers if one.setup.bar.overhang_mm != bar.overhang_mm]
    if not levers:
        return
    units, widths = result.setup.units, (44, 20, 12)
    note = float(result.frequency_hz[result.aligned])
    yield cells(("One change at a time", f"spring per {load_name(units)}", "ring"), widths)
    yield cells(("  now", spring_text(result.compliance_along, units), hertz(note)), widths)
    for one in levers:
        spring = spring_text(one.compliance_along * result.compliance_along, units)
        yield cells((f"  {change_name(result.setup, one.setup)}", spring, hertz(one.note * note)), widths)


def change_name(old: Setup, new: Setup) -> str:
    """Return a change in a few words."""
    if new.bar.overhang_mm != old.bar.overhang_mm:
        return reach_words(new)
    return f"{size_words(new.bar, new.units)} bar, same reach"


def _damping_head(result: Result) -> str:
    """Return the head of the column of dampings."""
    return "damping, as measured" if loss_measured(result.setup) else "damping, metal and seat only"


def _seat(result: Result) -> list[str]:
    """Return how wide the answer is, where that is known."""
    known, units = spread(result), result.setup.units
    if result.setup.grip.perfect:
        return ["A real holder gives: expect more spring, a lower ring. One tap or one pull tells how much."]
    measured = result.setup.measured
    if measured is not None and measured.stiffness_n_per_um_mm2 is not None and known is not None:
        ends = [spring_text(one * result.compliance_along, units) for one in known.compliance_along]
        told = f"The seat was {measured_words(result.setup)}: {ends[0].split()[0]} to {ends[1]}."
        return folded(told)
    if known is None:
        return ["The seat is the guess here. One tap or one pull settles it."]
    post = result.setup.post
    guess = "The seat is" if post is None or not post_numbers(post).assumed else "Seat and post are"
    if result.setup.grip.at_both_ends:
        guess = "The two ends are"
    ends = [spring_text(one * result.compliance_along, units) for one in known.compliance_along]
    low = ends[0].split()[0]
    settled = "One tap or one pull settles it."
    return [f"{guess} the guess here: it could be {low} to {ends[1]}. {settled}"]


def _foot(result: Result) -> list[str]:
    """Return the last line."""
    apart = hand_difference(result)
    hand = ""
    if apart is not None:
        agrees = (
            apart.expected[0] <= apart.stiffness <= apart.expected[1] and abs(apart.stiffness) < _STRAIGHT
        )
        hand = (
            f" Hand formula agrees to {change(abs(apart.stiffness)).lstrip('+')}."
            if agrees
            else " The hand formula takes the holder as solid and reads stiffer."
            if apart.stiffness < 0
            else ""
        )
    return [f"An estimate.{hand} Everything else: --more"]


def direction_of(result: Result, at: int) -> list[float]:
    """Return the unit motion of the edge in a mode; zeros where the edge stands still."""
    edge = result.modes.edge[at]
    return [float(one) for one in edge / np.linalg.norm(edge)] if result.moves[at] else [0.0, 0.0, 0.0]


def digits_of(result: Result) -> int:
    """Return how many digits of the spring are known: two, or three where no stiffness is assumed."""
    soft = ("modulus", "stiffness", "shear", "Poisson")
    assumed = any(word in one.name for one in result.assumptions for word in soft)
    return 2 if assumed else 3


def rival_of(result: Result) -> int | None:
    """Return the mode after the aligned one where it carries a fifth of the spring or more."""
    order = np.argsort(result.static_share[: result.n_modes])[::-1]
    others = [int(i) for i in order if i != result.aligned and result.static_share[i] >= 0.2]
    return others[0] if others else None
