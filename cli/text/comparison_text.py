"""A comparison as text: the verdict first, then the numbers side by side, then what to believe of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from stickout.cli.text.measured_words import measured_words
from stickout.cli.text.modes_answer import setup_words
from stickout.cli.text.unknowns import caution_words, tap_words, unknown_words
from stickout.cli.text.verdict_words import entry_name, letter, surest, verdict_text
from stickout.cli.text.words import (
    band_text,
    folded,
    hertz,
    load_name,
    percent,
    plain,
    spring_text,
    stiffness_text,
)
from stickout.fem.compare.compare import Comparison, Entry
from stickout.fem.compare.rivals import PLAIN
from stickout.fem.setup.bands import Spread
from stickout.fem.setup.measured import loss_measured
from stickout.fem.study.clamped_loss import given_by_user, seat_loss

_NAMES: Final = 5  # width of the column of letters
_INDENT: Final = "     "
_RATIO_HEADS: Final = (
    ("note", "note_hz", 18),
    ("spring", "spring_m_per_n", 18),
    ("stiffness", "stiffness_n_per_m", 18),
    ("loss factor", "loss_factor", 18),
    ("k·ζ", "k_zeta_n_per_m", 18),
)
_MARGIN_HEAD: Final = ("cut margin", "cut_margin", 18)


def comparison_text(comparison: Comparison) -> str:
    """Return the whole comparison, lines no wider than 100 columns, lengths in the first set-up's units."""
    blocks = [
        list(_opening(comparison)),
        list(_verdicts(comparison)),
        list(_values(comparison)),
        list(_ratios(comparison)),
        list(_energies(comparison)),
        [line for text in unknown_words(comparison) for line in folded(text, "  ")],
        folded(tap_words(comparison), "  "),
        [line for text in caution_words(comparison) for line in folded(f"Take care. {text}", "  ")],
        folded(_belief(comparison), "  "),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(comparison: Comparison) -> Iterator[str]:
    """Yield what is compared with what."""
    first = comparison.first
    yield from folded(f"A    {first.name}. {setup_words(first.result.setup)}", _INDENT)
    for number, entry in enumerate(comparison.entries[1:], start=1):
        if entry.rival is None:
            yield from folded(f"{letter(number):<{_NAMES}}{entry_name(entry)}", _INDENT)


def _verdicts(comparison: Comparison) -> Iterator[str]:
    """Yield the verdict on each change, on each rival, and which is the surest."""
    best, rivals_begun = surest(comparison), False
    for number, entry in enumerate(comparison.entries[1:], start=1):
        if entry.rival is not None and not rivals_begun:
            rivals_begun = True
            yield "The same space spent otherwise:"
        hung = comparison.first.result.setup.absorber is not None
        bare = ", without absorber" if hung and entry.rival is not None and entry.rival.kind != PLAIN else ""
        name = f"{entry_name(entry)}{bare}: " if entry.rival is not None else ""
        verdict = verdict_text(entry, comparison.first)
        yield from folded(f"{letter(number):<{_NAMES}}{name}{verdict}", _INDENT)
    if best is not None and len(comparison.entries) > 2:
        yield f"Surest of all: {letter(best)}."


def _values(comparison: Comparison) -> Iterator[str]:
    """Yield the table of values."""
    load = load_name(comparison.first.result.setup.units)
    heads = ("note", f"spring per {load}", "stiffness", "loss factor (low-high)", "k·ζ")
    widths = (13, 17, 15, 32, 14)
    yield " " * _NAMES + _row(heads, widths)
    for number, entry in enumerate(comparison.entries):
        units, value = comparison.first.result.setup.units, entry.values
        cells = (
            hertz(value["note_hz"].likely),
            spring_text(value["spring_m_per_n"].likely, units),
            stiffness_text(value["stiffness_n_per_m"].likely, units),
            _band(value["loss_factor"]),
            stiffness_text(value["k_zeta_n_per_m"].likely, units, digits=2),
        )
        yield f"{letter(number):<{_NAMES}}" + _row(cells, widths)


def _ratios(comparison: Comparison) -> Iterator[str]:
    """Yield the table of ratios to the first, with their bands."""
    heads = list(_RATIO_HEADS)
    if any("cut_margin" in one.ratios for one in comparison.entries):
        # Stiffness is one over the spring; it makes room for the margin.
        heads = [*(head for head in heads if head[0] != "stiffness"), _MARGIN_HEAD]
    widths = [width for _, _, width in heads]
    yield "Times what A has; in brackets the band in which nine of ten draws of the assumed numbers lie"
    yield " " * _NAMES + _row([head for head, _, _ in heads], widths)
    for number, entry in enumerate(comparison.entries[1:], start=1):
        cells = [_ratio(entry.ratios.get(measure)) for _, measure, _ in heads]
        yield f"{letter(number):<{_NAMES}}" + _row(cells, widths)


def _energies(comparison: Comparison) -> Iterator[str]:
    """Yield where the energy of the mode along the force is, for the first and for the changes."""
    shown = [(n, one) for n, one in enumerate(comparison.entries) if one.rival is None]
    if all(len(one.result.shares) < 2 for _, one in shown):
        return
    yield "Strain energy of the mode along the force"
    for number, entry in shown:
        yield from folded(f"{letter(number):<{_NAMES}}{_shares(entry)}", _INDENT)


def _shares(entry: Entry) -> str:
    """Return the shares of the parts, the largest first."""
    at = entry.result.aligned
    shares = sorted(((float(v[at]), name) for name, v in entry.result.shares.items()), reverse=True)
    return ", ".join(f"{'bar inside the holder' if n == 'grip' else n} {percent(s)}" for s, n in shares)


def _belief(comparison: Comparison) -> str:
    """Return how far to trust the comparison."""
    setups = [one.result.setup for one in comparison.entries]
    text = "An estimate, not a promise. "
    if any(loss_measured(one) for one in setups):
        text += f"The damping was {measured_words(comparison.first.result.setup)}. "
    elif not all(given_by_user(one) for one in setups):
        usual = band_text(seat_loss(setups[0])).replace("-", " to ")
        text += f"What a clamped tool usually loses, loss factor {usual}, is taken where you gave none. "
    return text + (
        "A number that two set-ups share, such as the steel or a face that the change leaves alone, is "
        f"drawn once for both; a new face gets a draw of its own. {len(comparison.assumptions)} assumed "
        "numbers with their sources: --json."
    )


def _ratio(spread: Spread | None) -> str:
    """Return a ratio with its band, the band left out where it adds nothing."""
    if spread is None:
        return "-"
    likely = _two(spread.likely)
    if spread.high - spread.low < 0.015:
        return likely
    return f"{likely} ({_two(spread.low)}-{_two(spread.high)})"


def _two(value: float) -> str:
    """Return a ratio with two decimals, or two digits from ten on."""
    return f"{value:.2f}" if value < 10 else f"{value:.0f}"


def _band(spread: Spread) -> str:
    return f"{plain(spread.likely)} ({plain(spread.low)}-{plain(spread.high)})"


def _row(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "".join(f"{cell} ".ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()
