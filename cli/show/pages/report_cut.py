"""The report's pages on the cut: verdict, margins, speeds, what to change, static errors, pictures."""

from __future__ import annotations

import html
import math
from collections.abc import Callable
from typing import Any, Final

from stickout.cli.show.pages.report_parts import Ledger, figure_of, paragraph, section, table
from stickout.cli.show.plots.plots import draw_cut, draw_force_sheet
from stickout.cli.text.cut_words import (
    TOO_LIGHT,
    fine_length,
    times,
    window_words,
)
from stickout.cli.text.lever_words import change_head, change_rows, idle_words
from stickout.cli.text.measured_words import measured_words
from stickout.cli.text.speed_words import in_ten, speed_name
from stickout.cli.text.words import area_text, force_size, hertz, margin_figure, percent, plain
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.turned import can_turn
from stickout.fem.setup.measured import loss_measured
from stickout.fem.units import FOOT, MM, UM, rounded, small_length_text

_SIDES: Final = ("low", "likely", "high")
_COUNTS: Final = 0.05 * UM  # less than this is left to no dial


def cut_cards(answer: CutAnswer, ledger: Ledger) -> list[str]:
    """Return the cards of chance and depth."""
    verdict, units = answer.verdict, answer.result.setup.units
    at = verdict.speeds.index(verdict.stated)
    chance = ledger.show(f"cut.speeds.{at}.p_quiet", in_ten)
    word = ledger.show(f"cut.speeds.{at}.verdict", str)
    where = html.escape(speed_name(verdict.stated, units))
    quiet = f"<div><span>Quiet in 10, at {where}</span><b>{chance}</b><span>{word}</span></div>"
    what = "Width of blade" if answer.case.cut.operation == "parting" else "Depth"
    worst = html.escape(speed_name(verdict.speeds[verdict.worst], units))
    head, tail = f"{what} that is likely quiet at {worst}", _past_words(answer, ledger)
    up_to = ledger.show("cut.depth_limit_mm.low", lambda d: _depth(d, answer, "up to "))
    return [quiet, f"<div><span>{head}</span><b>{up_to}</b><span>{tail}</span></div>"]


def _past_words(answer: CutAnswer, ledger: Ledger) -> str:
    """Return from which depth on a cut is likely noisy, at the worst speed, as HTML."""
    low, _, high = answer.verdict.depth
    if high < TOO_LIGHT:
        return "a lighter cut only rubs"
    if math.isinf(low):
        return "no depth limits it"
    if math.isinf(high):
        return "no limit above"
    return f"likely noisy past {ledger.show('cut.depth_limit_mm.high', lambda d: _depth(d, answer))}"


def _depth(depth_mm: float, answer: CutAnswer, before: str = "") -> str:
    """Return a depth limit; below what can be dialled in it is none at all."""
    depth = depth_mm * MM
    return "none" if depth < TOO_LIGHT else f"{before}{fine_length(depth, answer.result.setup.units)}"


def cut_sections(answer: CutAnswer, ledger: Ledger) -> list[str]:
    """Return all that is told of the cut; a parting blade makes no size error."""
    parting = answer.case.cut.operation == "parting"
    return [
        section("The cut: how far from chatter", _limits(answer, ledger), _mode(answer, ledger)),
        section("What to change", _levers(answer, ledger)),
        section(
            "At speeds tried" if answer.verdict.speeds_assumed else "At your speeds", _speeds(answer, ledger)
        ),
        section("Limit against speed and rotation", _picture(answer, "cut")),
        section("Force and engaged edge", _force(answer, ledger), _picture(answer, "force")),
        section("Size errors from spring", _errors(answer, ledger)) if not parting else "",
    ]


def _row(name: str, ledger: Ledger, path: str, words: Callable[[Any], str]) -> list[str]:
    """Return a row of low, likely and high."""
    return [html.escape(name), *(ledger.show(f"{path}.{side}", words) for side in _SIDES)]


def _limits(answer: CutAnswer, ledger: Ledger) -> str:
    """Return margin and depth limit with their bands, and what widens them."""
    rows = [
        _row(
            "margin at the worst speed (above 1: quiet)",
            ledger,
            "cut.margin",
            margin_figure,
        ),
        _row("depth limit", ledger, "cut.depth_limit_mm", lambda d: _depth(d, answer)),
    ]
    shares = [
        [
            html.escape(name),
            *(ledger.show(f"cut.uncertainty.{name}.{side}", times) for side in ("low", "high")),
            ledger.show(f"cut.uncertainty.{name}.share", percent),
        ]
        for name in ledger.at("cut.uncertainty")
    ]
    return (
        table(("", *_SIDES), rows)
        + "<p>Nine times in ten it lies between low and high.</p>"
        + "<h3>What makes the band so wide</h3>"
        + table(("input", "low, times likely", "high, times likely", "share of the width"), shares)
    )


def _mode(answer: CutAnswer, ledger: Ledger) -> str:
    """Return the limiting mode, its note and the damping that counted."""
    at = answer.limiting
    note = ledger.show("cut.chatter_hz", hertz)
    if at is None:
        return f"<p>A mode of the work limits; the chatter would sing at about {note}.</p>"
    ratio = ledger.show(f"modes.{at}.damping_ratio", lambda r: f"{plain(100 * r)} %")
    how = "as you gave it" if answer.loss.given else "assumed for a clamped bar"
    if loss_measured(answer.result.setup):
        how = measured_words(answer.result.setup)
    number = ledger.show("limiting_mode", str)
    return (
        f"<p>Mode {number} limits; the chatter would sing at about {note}. Damping ratio {ratio}, {how}.</p>"
    )


def _levers(answer: CutAnswer, ledger: Ledger) -> str:
    """Return each change, how many lathes in ten stay quiet after it, and its price; then what is no help."""
    numbers = {id(one): at for at, one in enumerate(answer.levers)}
    rows = [
        [
            html.escape(what),
            ledger.put(f"cut.levers.{numbers[id(one)]}.p_quiet_after", chance),
            html.escape(price),
        ]
        for one, what, chance, price in change_rows(answer)
    ]
    idle = idle_words(answer)
    texts = [f"No help: {idle}." if idle else "", window_words(answer)]
    heads = (change_head(answer), "quiet in 10", "price")
    return (table(heads, rows) if rows else "") + "".join(
        paragraph(words, kind="note") for words in texts if words
    )


def _speeds(answer: CutAnswer, ledger: Ledger) -> str:
    """Return verdict, chance, margin, waves and wavelength at each speed."""
    surface = "ft/min" if answer.result.setup.units == "inch" else "m/min"
    heads = ("rpm", "verdict", "quiet in 10", "margin", "waves on a turn", surface, "one wave on the work")
    rows = [_speed_row(answer, ledger, at) for at in range(len(answer.verdict.speeds))]
    return table(heads, rows)


def _speed_row(answer: CutAnswer, ledger: Ledger, at: int) -> list[str]:
    """Return the cells of one speed; what turns with the work needs its diameter."""
    root, units = f"cut.speeds.{at}", answer.result.setup.units
    turns = answer.verdict.speeds[at].speed_rpm is not None
    cells = [
        ledger.show(f"{root}.rpm", lambda v: plain(v, 4)) if turns else "–",
        ledger.show(f"{root}.verdict", str),
        ledger.show(f"{root}.p_quiet", in_ten),
        ledger.show(f"{root}.margin.likely", margin_figure),
        ledger.show(f"{root}.waves_per_turn", lambda v: rounded(v, 2)) if turns else "–",
    ]
    foot = FOOT if units == "inch" else 1.0
    wave = ledger.show(f"{root}.wavelength_mm", lambda v: fine_length(v * MM, units, digits=2))
    return [*cells, ledger.show(f"{root}.cutting_speed_m_per_min", lambda v: rounded(v / foot, 2)), wave]


def _force(answer: CutAnswer, ledger: Ledger) -> str:
    """Return the force on the work and the engaged edge."""
    units = answer.result.setup.units
    names = (("cutting force Fc", "c"), ("feed force Ff", "f"), ("passive force Fp", "p"))
    rows = [
        [name, ledger.show(f"cut.force_n.{key}", lambda v: force_size(v, units, digits=3))]
        for name, key in names
    ]
    rows += [
        [
            "engaged edge, length",
            ledger.show("cut.edge.length_mm", lambda v: fine_length(v * MM, units, digits=3)),
        ],
        [
            "mean chip thickness",
            ledger.show("cut.edge.mean_chip_mm", lambda v: small_length_text(v * MM, units)),
        ],
        ["chip area", ledger.show("cut.edge.area_mm2", lambda v: area_text(v * MM**2, units))],
    ]
    return table(("on the work (ISO 3002)", "value"), rows)


def _errors(answer: CutAnswer, ledger: Ledger) -> str:
    """Return size error and what further passes leave."""
    units, root = answer.result.setup.units, "cut.spring_off"
    signed = _signed(units)
    rows = [
        ["edge pushed out of the work, on the radius", ledger.show(f"{root}.radial_mm", signed)],
        ["error of the diameter", ledger.show(f"{root}.diameter_error_mm", signed)],
    ]
    passes = ledger.at(f"{root}.left_after_passes_mm")
    rows += [
        [f"left on the radius after pass {at + 1}", ledger.show(f"{root}.left_after_passes_mm.{at}", signed)]
        for at in range(1, len(passes))
    ]
    if ledger.at(f"{root}.taper_mm") is not None:
        rows.append(["taper along the work, on the diameter", ledger.show(f"{root}.taper_mm", signed)])
    return table(("under the steady force", "value"), rows)


def _signed(units: str) -> Callable[[float], str]:
    """Return how a small length of either sign is written."""

    def words(size_mm: float) -> str:
        if abs(size_mm) * MM < _COUNTS:
            return "nothing that counts"
        return f"{'-' if size_mm < 0 else ''}{small_length_text(abs(size_mm) * MM, units)}"

    return words


def _picture(answer: CutAnswer, what: str) -> str:
    """Return one of the plots of the cut inside the page."""
    if what == "cut":
        text = "Margin at your speeds with its band"
        if not (answer.turned.alike or not can_turn(answer.result.setup)):
            text += "; margin against rotation of the section on the end view"
        return figure_of(text, lambda path: draw_cut(answer, path, paper=True))
    return figure_of(
        "The engaged edge with its chip, and the end view, each with the force on the tool to scale",
        lambda path: draw_force_sheet(answer.result.setup, answer.case, path=path, paper=True),
    )
