"""The answer of ``cut`` in one screen: verdict, spring, what to try; a rule; speeds, changes, pitch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.cli.text.cut_words import fine_length, gain_words, lever_words, verdict
from stickout.cli.text.force_answer import chip_lines
from stickout.cli.text.screen import FOOT, bar_line, cells, fitted, job_line, load_name, spring_of, warned
from stickout.cli.text.words import folded, hertz, note_name
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.setup.checks import WITHOUT
from stickout.fem.units import UM, rounded, small_length_text

_WORTH: Final = 1.05  # a margin grown by less is no help
_MOST_SPEEDS: Final = 6
_FEET: Final = 0.3048
_COUNTS: Final = 0.5 * UM


def cut_screen(answer: CutAnswer) -> str:
    """Return the answer in one screen, at most 25 lines of 100 columns."""
    setup, case = answer.result.setup, answer.case
    head = [
        *folded(setup.title or "Untitled set-up"),
        *folded(f"{bar_line(setup, grip=False)}. {job_line(setup, case.cut, material=case.material.name)}."),
        *warned([one for one in answer.result.warnings if one != WITHOUT], 1),
        "",
        *folded(verdict(answer)),
        *_spring(answer),
        *_first(answer),
    ]
    table = [*_speeds(answer), *_changes(answer), *_pitch(answer), *_thin(answer)]
    return fitted(head, table, foot=FOOT)


def _spring(answer: CutAnswer) -> list[str]:
    """Return how far the edge springs, and what comes out of size."""
    result, case = answer.result, answer.case
    units, off, operation = result.setup.units, answer.spring.radial, case.cut.operation
    text = f"The edge springs {spring_of(result.spring, units)} for {load_name(units)}"
    if operation not in ("boring", "turning"):
        return folded(f"{text} pushed the way the cut pushes.")
    what = "the bore" if operation == "boring" else "the work"
    if abs(2 * off) < _COUNTS:
        return folded(f"{text}; under this cut {what} comes to size.")
    small = (operation == "boring") == (off >= 0)
    wrong = small_length_text(abs(2 * off), units, digits=2 if abs(2 * off) < 10 * UM else 1)
    way = "small" if small else "large"
    return folded(f"{text}; under this cut {what} comes {wrong} {way} on diameter.")


def _first(answer: CutAnswer) -> list[str]:
    """Return what to try first: the strongest change that is a change of belt or reach, not a regrind."""
    setup = answer.result.setup
    helps = [one for one in answer.levers if one.factor > _WORTH]
    if not helps:
        return ["Try first: the seat, the screws and the edge; no cheap change here helps much."]
    if answer.spread.margin.low >= 1:
        return ["Nothing needs changing. If it does sing, suspect post, slides or work before the bar."]
    order = {"support": 0, "speed": 1, "overhang": 2, "absorber": 3, "rotation": 4}
    easy = sorted(helps, key=lambda one: order.get(one.key, 9))[0]
    return folded(f"Try first: {lever_words(easy, setup)}.")


def _speeds(answer: CutAnswer) -> Iterator[str]:
    """Yield the user's speeds: cutting speed, margin, wave on the work."""
    if not answer.speeds:
        return
    units, widths = answer.result.setup.units, (-8, -9, -21, -20)
    surface = "ft/min" if units == "inch" else "m/min"
    yield cells(("rpm", surface, "margin (quiet > 1)", "wave on the work"), widths)
    for one in answer.speeds[:_MOST_SPEEDS]:
        speed = 60 * (one.cutting_speed or 0.0) / (_FEET if units == "inch" else 1.0)
        margin = rounded(one.margin, 2) if math.isfinite(one.margin) else "no limit"
        wave = "-" if one.wavelength is None else fine_length(one.wavelength, units, digits=2)
        told = f"{speed:.0f}" if one.cutting_speed else "-"
        yield cells((f"{one.speed_rpm:.0f}", told, margin, wave), widths)


def _changes(answer: CutAnswer) -> Iterator[str]:
    """Yield the changes that help, each recomputed; those that do not share a line."""
    if not answer.levers:
        return
    setup = answer.result.setup
    parting = answer.case.cut.operation == "parting"
    told = [one for one in answer.levers if not (parting and one.key in ("nose_radius", "rotation"))]
    yield "One change at a time, recomputed                      margin"
    for one in told:
        if one.factor > _WORTH:
            yield cells((f"  {lever_words(one, setup)}", gain_words(one)), (54, 24))
    idle = [lever_words(one, setup) for one in told if one.factor <= _WORTH]
    if idle:
        yield from folded(f"  no help: {'; '.join(idle)}", "  ")


def _pitch(answer: CutAnswer) -> list[str]:
    """Return the pitch, and the marks it would leave."""
    note = answer.chatter_hz
    if not (math.isfinite(note) and note > 0):
        return []
    text = f"If it sings: near {note_name(note)} ({hertz(note)})"
    waves = [one.wavelength for one in answer.speeds if one.wavelength is not None]
    if waves:
        units = answer.result.setup.units
        ends = [fine_length(one, units, digits=1) for one in (min(waves), max(waves))]
        apart = ends[0] if ends[0] == ends[1] else f"{ends[0].split()[0]} to {ends[1]}"
        text += f", marks {apart} apart"
    return folded(f"{text}.")


def _thin(answer: CutAnswer) -> list[str]:
    """Return the warning of a chip too thin to cut."""
    lines = chip_lines(
        float(answer.case.edge.mean_chip), answer.slow.least_chip, units=answer.result.setup.units
    )
    text = " ".join(" ".join(lines).split())
    return folded(text.removeprefix("Warning: ")) if text.startswith("Warning: ") else []
