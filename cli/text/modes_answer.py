"""Everything that ``modes`` knows, as text: what ``--more`` adds to the one screen of ``modes_screen``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from stickout.cli.text import reasons
from stickout.cli.text.absorber_words import absorber_words, split_words
from stickout.cli.text.assumed_words import assumed_lines, bar_scales
from stickout.cli.text.modes_screen import digits_of, direction_of, rival_of
from stickout.cli.text.screen import reach_words
from stickout.cli.text.words import (
    along_words,
    change,
    folded,
    force_size,
    force_words,
    hertz,
    listed,
    load_n,
    load_name,
    load_words,
    moving_words,
    note_name,
    percent,
    plain,
    size_words,
    spring_text,
    stiffness_text,
    way_words,
    with_error,
)
from stickout.fem.force.loading import cutting_force
from stickout.fem.setup.parts import Setup
from stickout.fem.study.levers import hand_difference, spread
from stickout.fem.study.result import Result, hand_mode
from stickout.fem.units import length_text

_NAME_WIDTH = 35
_REGION_WORDS = {
    "bar": "in the bar outside the holder",
    "grip": "in the bar inside it",
    "bed": "in the springs of the bed",
    "post": "in post and slides",
    "shim": "in the shim",
    "wrap": "in the wrap",
    "holder": "in the block",
    "bar on floor": "between bar and floor",
    "shim on floor": "between shim and floor",
    "bar on shim": "between bar and shim",
    "screws on bar": "under the screws",
    "bar in sleeve": "between bar and block",
}
_HEADS = (
    ("  mode", "", 8),
    ("note, Hz", "(± solver)", 15),
    ("kind", "", 9),
    ("the edge moves (seen", "from the free end)", 25),
    ("along", "force", 9),
    ("loss factor", "likely (low-high)", 24),
    ("damping", "ratio", 9),
)


def answer_text(result: Result, *, verbose: bool = False) -> str:
    """Return the whole answer, lines no wider than 100 columns, lengths in the set-up's units.

    Parameters
    ----------
    result
        What the study found.
    verbose
        Add modal masses, energy of every mode, and the sources in full.
    """
    scales = bar_scales(result.setup.units)
    blocks = [
        [*folded(result.setup.title or "Untitled set-up"), *folded(setup_words(result.setup))],
        list(_opening(result)),
        list(_mode_table(result)),
        [
            *folded(split_words(result), "  "),
            *_springs(result),
            *_hand(result),
            *_energy(result, verbose=verbose),
        ],
        list(_modal_table(result)) if verbose else [],
        list(assumed_lines(result.assumptions, scales=scales, name_width=_NAME_WIDTH, verbose=verbose)),
        [line for warning in result.warnings for line in folded(f"Warning: {warning}", "  ")],
        [*_seat(result), *folded(reasons.caution(result.setup), "  ")],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def setup_words(setup: Setup) -> str:
    """Return the bar, its grip and its absorber in a sentence or two."""
    bar, units = setup.bar, setup.units
    shape = bar.section.capitalize() if bar.section == "tube" else f"{bar.section.capitalize()} bar"
    turned = f", turned {plain(bar.rotation_deg, 3)} degrees" if bar.rotation_deg else ""
    steps = "".join(f", {size_words(s, units)} from {length_text(s.start_mm, units)} on" for s in bar.steps)
    out = f"{length_text(bar.overhang_mm, units)} out of the holder"
    if setup.grip.at_both_ends:
        out = reach_words(setup)
    return (
        f"{shape} of {setup.bar_material.name}, {size_words(bar, units)}{steps}{turned}, {out}; "
        f"{reasons.grip_words(setup)}.{absorber_words(setup)}"
    )


def _opening(result: Result) -> Iterator[str]:
    """Yield the two or three sentences that answer the question."""
    at, units = result.aligned, result.setup.units
    spring = spring_text(result.compliance_along, units, digits=digits_of(result))
    note = float(result.frequency_hz[at])
    force = "the cutting force" if result.setup.cut else "the force"
    toward = f"along {force}" + ("" if result.setup.cut else ", taken straight down")
    moving = moving_words(direction_of(result, at), kind=result.kinds[at])
    along = along_words(float(result.alignment[at]), force=force)
    text = (
        f"The edge springs {spring} for every {load_words(units)} {toward}. Tapped, it rings at about "
        f"{hertz(note)}, near {note_name(note)}. In that mode it moves {moving} {along}."
    )
    pair = next((p for p in result.pairs if at in p), None)
    if pair is not None:
        text += " " + reasons.pair_words(result.setup)
    rival = rival_of(result)
    if rival is not None:
        text += (
            f" Mode {rival + 1} at {hertz(float(result.frequency_hz[rival]))} carries "
            f"{percent(float(result.static_share[rival]))} of the spring along the force, mode {at + 1} "
            f"{percent(float(result.static_share[at]))}: watch both."
        )
    yield from folded(text)


def _mode_table(result: Result) -> Iterator[str]:
    """Yield the table of modes; the aligned one is marked, equal pairs are named below."""
    widths = [width for _, _, width in _HEADS]
    yield _columns([head for head, _, _ in _HEADS], widths)
    yield _columns([unit for _, unit, _ in _HEADS], widths)
    yield from (_columns(_mode_row(result, at), widths) for at in range(result.n_modes))
    pairs = [f"{i + 1} with {j + 1}" for i, j in result.pairs if i < result.n_modes]
    twins = f" Equal pairs: {listed(pairs)}." if pairs else ""
    most = percent(float(result.static_share[result.aligned]))
    yield f"> carries most of the spring along the force: {most}.{twins}"


def _mode_row(result: Result, at: int) -> list[str]:
    """Return the cells of one mode."""
    likely, low, high = (float(getattr(result.loss, side)[at]) for side in ("likely", "low", "high"))
    return [
        f"{'>' if at == result.aligned else ' '} {at + 1}",
        with_error(float(result.frequency_hz[at]), float(result.frequency_error[at])),
        result.kinds[at],
        way_words(direction_of(result, at), kind=result.kinds[at]),
        percent(float(result.alignment[at])) if result.moves[at] else "-",
        f"{plain(likely)} ({plain(low)}-{plain(high)})",
        f"{plain(50 * likely)} %",
    ]


def _columns(cells: Sequence[str], widths: Sequence[int]) -> str:
    """Return one line of a table; a cell too long for its column moves the rest on."""
    return "".join(f"{cell} ".ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()


def _energy(result: Result, *, verbose: bool) -> Iterator[str]:
    """Yield the shares of the parts in the strain energy: of the aligned mode, or in detail of all."""
    if len(result.shares) < 2:
        return
    for at in range(result.n_modes) if verbose else [result.aligned]:
        shares = sorted(((float(share[at]), name) for name, share in result.shares.items()), reverse=True)
        parts = [f"{percent(share)} {_REGION_WORDS.get(name, name)}" for share, name in shares]
        yield from folded(f"Strain energy of mode {at + 1}: {', '.join(parts)}.", "  ")


def _modal_table(result: Result) -> Iterator[str]:
    """Yield modal mass and stiffness at the edge along each mode's own direction."""
    yield "Referred to the edge, along its own motion:   modal mass, g   modal stiffness"
    for at in range(result.n_modes):
        if result.moves[at]:
            mass = plain(float(result.modal_mass[at]) * 1e3, 3)
            stiff = stiffness_text(float(result.modal_stiffness[at]), result.setup.units)
            yield f"  mode {at + 1:<39}{mass:>13}   {stiff:>15}"


def _springs(result: Result) -> Iterator[str]:
    """Yield the static spring along the force and three ways, where the force points, and the spread."""
    units = result.setup.units
    ways = (("up and down", 2), ("sideways", 1), ("endwise", 0))
    each = ", ".join(f"{spring_text(float(result.compliance[at, at]), units)} {words}" for words, at in ways)
    stiffness = stiffness_text(1 / result.compliance_along, units, digits=digits_of(result))
    yield from folded(f"Spring along the force {stiffness}. Per {load_name(units)}: {each}.", "  ")
    yield from folded(_force_text(result), "  ")
    known = spread(result)
    if known is not None and known.compliance_along[1] > 1.005 * known.compliance_along[0]:
        low, high = (spring_text(one * result.compliance_along, units) for one in known.compliance_along)
        notes = [hertz(one * float(result.frequency_hz[result.aligned])) for one in known.note]
        load = load_name(units)
        text = f"At the ends of the assumed ranges: {low} to {high} per {load}, {notes[0]} to {notes[1]}."
        yield from folded(text, "  ")


def _force_text(result: Result) -> str:
    """Return where the force on the tool points, how that is known, and what it does to the edge."""
    push, cut = result.loading, result.setup.cut
    if push.how == "no cut":
        return "The force on the tool is taken straight down, because the set-up describes no [cut]."
    toward = force_words(push.direction.tolist())
    text = f"The force on the tool points {toward} ({reasons.HOW_WORDS[push.how]})."
    if push.how == "force model" and cut is not None:
        force = cutting_force(cut)[0]
        size = float(np.linalg.norm([force.c, force.f, force.p]))
        units = result.setup.units
        yielding = spring_text(size / load_n(units) * result.compliance_along, units)
        text += f" This cut pushes with about {force_size(size, units)}: the edge yields {yielding}."
    return text


def _hand(result: Result) -> Iterator[str]:
    """Yield the hand formula beside the solid, and why they differ."""
    hand, apart = result.hand, hand_difference(result)
    if hand is None or apart is None:
        return
    units = result.setup.units
    solid = float(result.frequency_hz[hand_mode(result)])
    softest = stiffness_text(hand.stiffness_n_per_m * (1 + apart.stiffness), units)
    beam = stiffness_text(hand.stiffness_n_per_m, units)
    yield from folded(
        f"Hand formula ({hand.what}, softest way): {hand.frequency_hz:.0f} Hz and {beam}; the solid: "
        f"{solid:.0f} Hz ({change(apart.note)}) and {softest} ({change(apart.stiffness)}). "
        f"{reasons.hand_reason(result, apart)}",
        "  ",
    )


def _seat(result: Result) -> list[str]:
    """Return that the seat comes first, where it holds much of the energy."""
    seat = reasons.seat_words(result)
    return folded(f"What to change first: {seat}.", "  ") if seat else []
