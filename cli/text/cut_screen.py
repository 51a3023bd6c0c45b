"""The answer of ``cut`` in one screen: verdict, spring, what to try; a rule; speeds, changes, pitch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.cli.text.cut_advice import advice
from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.force_answer import chip_lines
from stickout.cli.text.lever_words import change_head, change_rows, idle_words
from stickout.cli.text.screen import (
    FOOT,
    FOOT_ON_POST,
    bar_line,
    cells,
    fitted,
    job_line,
    load_name,
    spring_of,
    warned,
)
from stickout.cli.text.speed_words import (
    crossing_line,
    in_ten,
    pitch_line,
    surface_speed,
    tried_line,
    verdict_line,
    word_of,
)
from stickout.cli.text.words import folded
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.verdict import QUIET
from stickout.fem.setup.checks import WITHOUT
from stickout.fem.units import UM, small_length_text

_MOST_SPEEDS: Final = 6
_MOST_CHANGES: Final = 5
_MOST_LINES: Final = 25
_COUNTS: Final = 0.5 * UM


def cut_screen(answer: CutAnswer) -> str:
    """Return the answer in one screen, at most 25 lines of 100 columns."""
    setup, case = answer.result.setup, answer.case
    head = [
        *folded(setup.title or "Untitled set-up"),
        *folded(f"{bar_line(setup, grip=False)}. {job_line(setup, case.cut, material=case.material.name)}."),
        *warned([one for one in answer.result.warnings if one != WITHOUT], 1),
        *folded(tried_line(answer.verdict, setup.units)),
        "",
        *folded(verdict_line(answer.verdict, setup.units)),
        *_spring(answer),
        *folded(advice(answer)),
    ]
    speeds, crossing = [*_speeds(answer)], folded(crossing_line(answer.verdict, setup.units))
    pitch = [*folded(pitch_line(answer.verdict, setup.units)), *_thin(answer)]
    left = _MOST_LINES - len(head) - 1 - len(speeds) - len(pitch) - len(FOOT)
    for most in range(_MOST_CHANGES, 0, -1):
        changes = [*_changes(answer, most)]
        if len(crossing) + len(changes) <= left:
            break
    foot = FOOT if setup.post is None else FOOT_ON_POST
    return fitted(head, [*speeds, *crossing, *changes, *pitch], foot=foot)


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


def _speeds(answer: CutAnswer) -> Iterator[str]:
    """Yield the user's speeds: cutting speed, word, how many in ten stay quiet, wave on the work."""
    units, widths = answer.result.setup.units, (-8, -9, 16, -13, -20)
    surface = "ft/min" if units == "inch" else "m/min"
    yield cells(("rpm", surface, "   verdict", "quiet in 10", "wave on the work"), widths)
    for one in answer.verdict.speeds[:_MOST_SPEEDS]:
        rpm = "-" if one.speed_rpm is None else f"{one.speed_rpm:.0f}"
        speed = surface_speed(one.cutting_speed, units).split()[0]
        wave = fine_length(one.wavelength, units, digits=2) if math.isfinite(one.wavelength) else "-"
        yield cells((rpm, speed, f"   {word_of(one)}", in_ten(one.p_quiet), wave), widths)


def _changes(answer: CutAnswer, most: int) -> Iterator[str]:
    """Yield the changes that help, each rerun at one speed; those that do not share a line."""
    rows = change_rows(answer)
    if not answer.levers or all(one.verdict == QUIET for one in answer.verdict.speeds):
        return
    while len(rows) > most:  # what helps least goes, but never the speed
        rows.remove(min(rows[1:], key=lambda row: row[0].after.p_quiet))
    widths, now = (46, 14, 40), in_ten(answer.verdict.stated.p_quiet)
    yield cells((change_head(answer), "quiet in 10", "price"), widths)
    for _, what, chance, price in rows:
        yield cells((f"  {what}", f"     {chance}", price), widths)
    idle = idle_words(answer)
    if idle:
        yield cells((f"  {idle}", f"     {now}", "no help"), widths)


def _thin(answer: CutAnswer) -> list[str]:
    """Return the warning of a chip too thin to cut."""
    lines = chip_lines(
        float(answer.case.edge.mean_chip), answer.slow.least_chip, units=answer.result.setup.units
    )
    text = " ".join(" ".join(lines).split())
    return folded(text.removeprefix("Warning: ")) if text.startswith("Warning: ") else []
