"""The report's pages on the modes: cards, table of modes, energy, hand formula, assumed numbers, versions."""

from __future__ import annotations

import html
import platform
from typing import Any, Final

import numpy
import scipy

from stickout.cli.show.pages.report_parts import Ledger, derived, energy_chart, paragraph, section, table
from stickout.cli.text import reasons
from stickout.cli.text.assumed_words import bar_scales, cut_scales, said_name
from stickout.cli.text.words import (
    change,
    hertz,
    load_n,
    load_name,
    load_words,
    note_name,
    percent,
    plain,
    spring_text,
    stiffness_text,
    way_words,
    with_error,
)
from stickout.fem.study.levers import hand_difference
from stickout.fem.study.result import Result, hand_mode

_WAYS: Final = (("endwise (x)", 0), ("sideways (y)", 1), ("up and down (z)", 2))
_LARGE_M: Final = 2e-3  # sizes of a holder are above, waves and edges below
_STIFF_PA: Final = 1e10  # a modulus is above, a cutting force per area below


def card(head: str, figure: str, *, tail: str) -> str:
    """Return one figure that is read first: its name, the figure as HTML, and what to know of it."""
    return f"<div><span>{html.escape(head)}</span><b>{figure}</b><span>{html.escape(tail)}</span></div>"


def modes_cards(result: Result, ledger: Ledger) -> list[str]:
    """Return the cards of spring and note."""
    at, units = result.aligned, result.setup.units
    note = ledger.show(f"modes.{at}.frequency_hz", hertz)
    force = "the cutting force" if result.setup.cut else "a force straight down"
    load = load_words(units).partition(" (")[0]
    spring = derived(float(result.compliance_along), spring_text(result.compliance_along, units))
    return [
        card(f"Springs, for {load}", spring, tail=f"along {force}"),
        card(
            "Tapped, the bar rings at",
            note,
            tail=f"near {note_name(float(result.frequency_hz[at]))}, mode {at + 1}",
        ),
        card(
            "Motion along the force",
            ledger.show(f"modes.{at}.alignment", percent),
            tail=f"in mode {at + 1}, of all",
        ),
    ]


def modes_section(result: Result, ledger: Ledger) -> str:
    """Return the table of modes, the aligned one marked, and the static spring."""
    rows = [_mode_row(result, ledger, at) for at in range(result.n_modes)]
    heads = ("mode", "note, Hz (± solver)", "kind", "the edge moves (seen from the free end)", "along force",
             "loss factor, likely (low-high)", "damping ratio")  # fmt: skip
    pairs = [f"{i + 1} and {j + 1}" for i, j in result.pairs if i < result.n_modes]
    equal = f" Equal pairs: {'; '.join(pairs)}." if pairs else ""
    most = percent(float(result.static_share[result.aligned]))
    text = f"Marked: the mode that carries most of the spring along the force, {most}.{equal}"
    return section(
        "Modes",
        table(heads, rows, marked=(result.aligned,)),
        paragraph(text, kind="note"),
        "<h3>How the edge yields</h3>",
        _spring_table(result, ledger),
    )


def _mode_row(result: Result, ledger: Ledger, at: int) -> list[str]:
    """Return the cells of one mode."""
    root, error = f"modes.{at}", float(result.frequency_error[at])
    direction, kind = ledger.at(f"{root}.direction"), result.kinds[at]
    low, high = (ledger.show(f"{root}.loss_factor_{side}", plain) for side in ("low", "high"))
    return [
        str(at + 1),
        ledger.show(f"{root}.frequency_hz", lambda f: with_error(f, error)),
        kind,
        html.escape(way_words(direction, kind=kind)),
        ledger.show(f"{root}.alignment", percent) if result.moves[at] else "–",
        f"{ledger.show(f'{root}.loss_factor', plain)} ({low}-{high})",
        ledger.show(f"{root}.damping_ratio", lambda ratio: f"{plain(100 * ratio)} %"),
    ]


def _spring_table(result: Result, ledger: Ledger) -> str:
    """Return the static compliance at the edge, per ``load_n``."""
    units = result.setup.units
    rows = [
        [words]
        + [
            ledger.show(f"static.compliance_m_per_n.{row}.{column}", lambda c: _signed_spring(c, units))
            for _, column in _WAYS
        ]
        for words, row in _WAYS
    ]
    heads = (f"yields, under {load_name(units)}", *(f"force {words}" for words, _ in _WAYS))
    return table(heads, rows)


def _signed_spring(compliance: float, units: str) -> str:
    """Return how far the edge goes, with its sign; what is lost in rounding is told as 0."""
    if abs(compliance) * load_n(units) < 5e-10:
        return "0"
    return f"{'-' if compliance < 0 else ''}{spring_text(abs(compliance), units)}"


def energy_section(result: Result, ledger: Ledger) -> str:
    """Return where the strain energy of each mode is."""
    names = list(result.shares)
    n = result.n_modes
    order = sorted(names, key=lambda name: -float(result.shares[name][result.aligned]))
    chart = energy_chart(
        [f"{i + 1}: {hertz(float(result.frequency_hz[i]))}" for i in range(n)],
        {name: [float(v) for v in result.shares[name][:n]] for name in order},
    )
    rows = [
        [html.escape(name)] + [ledger.show(f"modes.{i}.energy_shares.{name}", percent) for i in range(n)]
        for name in order
    ]
    heads = ("part", *(f"mode {i + 1}" for i in range(n)))
    text = "A part that holds little of a mode's energy can neither stiffen it much nor damp it much."
    return section("Where the energy is", paragraph(text), chart, table(heads, rows))


def hand_section(result: Result, ledger: Ledger) -> str:
    """Return the hand formula beside the solid."""
    hand, apart = result.hand, hand_difference(result)
    if hand is None or apart is None:
        return section("Hand check", paragraph("No hand formula applies to this bar and grip."), kind="whole")
    units, mode = result.setup.units, hand_mode(result)
    stiffness = float(hand.stiffness_n_per_m * (1 + apart.stiffness))
    solid = derived(stiffness, stiffness_text(stiffness, units))
    rows = [
        ["note", ledger.show("hand_check.frequency_hz", lambda f: f"{f:.0f} Hz"),
         ledger.show(f"modes.{mode}.frequency_hz", lambda f: f"{f:.0f} Hz"),
         ledger.show("hand_check.difference", change)],
        ["stiffness, softest way",
         ledger.show("hand_check.stiffness_n_per_m", lambda k: stiffness_text(k, units)),
         solid, derived(float(apart.stiffness), change(apart.stiffness))],
    ]  # fmt: skip
    heads = ("", f"formula: {hand.what}", "solid (this report)", "solid against formula")
    why = paragraph(reasons.hand_reason(result, apart), kind="note")
    return section("Hand check", table(heads, rows), why)


def assumed_section(ledger: Ledger, units: str) -> str:
    """Return every number that was assumed, with its band and its source."""
    rows = []
    for at, one in enumerate(ledger.at("assumptions")):
        scale, unit = _unit_of(one, units)
        likely, low, high = (
            ledger.put(f"assumptions.{at}.{key}", plain(one[key] / scale, 4))
            for key in ("value", "low", "high")
        )
        rows.append(
            [html.escape(said_name(one["name"])), likely, low, high, unit, html.escape(one["source"])]
        )
    text = "Nobody measured these on this bar. A figure of your own in the set-up replaces any."
    heads = ("assumed", "likely", "low", "high", "unit", "source")
    return section("Assumed numbers", paragraph(text), table(heads, rows)) if rows else ""


def _unit_of(assumption: dict[str, Any], units: str) -> tuple[float, str]:
    """Return the scale and the name of the unit that people read a number in."""
    unit, value = str(assumption["unit"]), assumption["value"]
    large = (unit == "Pa" and value > _STIFF_PA) or (unit == "m" and value > _LARGE_M)
    scales = bar_scales(units) if large else cut_scales(units)
    return {"kg/m3": (1.0, "kg/m³"), **scales}.get(unit, (1.0, unit))


def versions_section(ledger: Ledger) -> str:
    """Return what computed this, so that it can be run again."""
    cells, nodes, unknowns = (ledger.show(f"mesh.{key}", str) for key in ("cells", "nodes", "unknowns"))
    versions = (
        f"{ledger.at('tool')} {ledger.at('version')}, Python {platform.python_version()}, "
        f"numpy {numpy.__version__}, scipy {scipy.__version__}"
    )
    mesh = f"finest solution {unknowns} unknowns, shapes on {cells} cells of second order, {nodes} nodes"
    return section("Computed with", f"<p>{html.escape(versions)}; {mesh}.</p>", kind="whole")
