"""The answer of ``cut`` in one screen: verdict, spring, what to try; a rule; speeds, changes, pitch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from stickout.cli.text.cut_advice import advice
from stickout.cli.text.cut_table import depth_is_free, depth_line, speed_rows
from stickout.cli.text.edge_words import last_line, pitch_line, spring_line, why_line
from stickout.cli.text.force_answer import chip_lines
from stickout.cli.text.heard_words import heard_line, heard_lines
from stickout.cli.text.lever_words import change_head, change_rows, idle_words
from stickout.cli.text.leverage_words import singer_line
from stickout.cli.text.screen import FOOT, FOOT_ON_POST, bar_line, cells, fitted, job_line, warned
from stickout.cli.text.speed_words import in_ten, tried_line, verdict_line
from stickout.cli.text.stations_words import angle_line, pockets_line, stations_line, wall_line
from stickout.cli.text.words import folded
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.speed_verdict import QUIET
from stickout.fem.setup.checks import WITHOUT

_MOST_CHANGES: Final = 6
_FEW_CHANGES: Final = 4
_MOST_LINES: Final = 25
_COUNTS: Final = 0.1


def opening_sentences(answer: CutAnswer) -> list[str]:
    """Return how every answer on a cut opens: heard and tried, the verdict, the spring, what to try."""
    tried = tried_line(answer.verdict, answer.result.setup.units)
    found = (heard_line(answer), tried, said_line(answer), spring_line(answer), advice(answer))
    return [one for one in found if one]


def said_line(answer: CutAnswer) -> str:
    """Return the verdict in words, with what depth has to do with it and which side sings."""
    said = verdict_line(answer.verdict, answer.result.setup.units)
    if depth_is_free(answer):
        said = f"{said.removesuffix('.')}, and depth does not decide it."
    if answer.leverage is not None and any(one.verdict != QUIET for one in answer.verdict.speeds):
        said += f" {singer_line(answer.leverage)}"
    return said


def cut_screen(answer: CutAnswer) -> str:
    """Return the answer in one screen, at most 25 lines of 100 columns."""
    setup, verdict = answer.result.setup, answer.verdict
    units = setup.units
    head = [
        *folded(setup.title or "Untitled set-up"),
        *_job(answer),
        *folded(heard_line(answer)),
        *warned([one for one in answer.result.warnings if one not in left_to_more(answer)], 1),
        *folded(tried_line(verdict, units)),
        *folded(stations_line(answer.along, units)),
        "",
        *folded(said_line(answer)),
        *folded(spring_line(answer)),
        *folded(advice(answer)),
    ]
    rows = [*speed_rows(answer)]
    pitch = [*folded(pitch_line(answer)), *folded(pockets_line(answer)), *folded(wall_line(setup))]
    pitch += [*folded(angle_line(answer)), *_thin(answer)]
    foot = FOOT if setup.post is None and not setup.grip.at_both_ends else FOOT_ON_POST
    left = _MOST_LINES - len(head) - 1 - len(rows) - len(pitch) - len(foot)
    between = _between(answer, left)
    last = folded(last_line(answer))
    if len(between) + len(last) <= left:
        pitch += last
    return fitted(head, [*rows, *between, *pitch], foot=foot)


def left_to_more(answer: CutAnswer) -> tuple[str, ...]:
    """Return the warnings that change nothing of what is said of a cut: per cents of its mesh, as a rule.

    The band of the margin is one of factors; what its mesh misses is told where it is a tenth of that.
    """
    result, worst = answer.result, answer.verdict.speeds[answer.verdict.worst].margin
    missed = 2 * float(result.frequency_error[: result.n_modes].max()) + float(
        np.diag(result.compliance_error).max()
    )
    small = missed < _COUNTS * math.log(worst.high / worst.low)
    return (WITHOUT, result.shortfall) if small else (WITHOUT,)


def _job(answer: CutAnswer) -> list[str]:
    """Return bar and cut; the nose goes unsaid where that saves a line."""
    setup, cut = answer.result.setup, answer.case.cut
    bar = bar_line(setup, grip=False)
    material = cut.work_material or answer.case.material.name
    whole, short = (
        folded(f"{bar}. {job_line(setup, one, material=material)}.")
        for one in (cut, replace(cut, nose_radius_mm=None))
    )
    return short if len(short) < len(whole) else whole


def _between(answer: CutAnswer, left: int) -> list[str]:
    """Return what stands between speeds and pitch, as much as there is room for: why, depth, changes."""
    if answer.verdict.heard:
        lines = [line for text in heard_lines(answer) for line in folded(text)]
        if any(one.counts for one in answer.verdict.heard):
            return lines
        left -= len(lines)
        return lines + _changes_that_fit(answer, left)
    why = folded(why_line(answer))
    depth = folded(depth_line(answer))
    if depth and len(why) + len(depth) + _FEW_CHANGES > left:
        why = []  # the table of speeds has told it already
    return [*why, *depth, *_changes_that_fit(answer, left - len(why) - len(depth))]


def _changes_that_fit(answer: CutAnswer, left: int) -> list[str]:
    """Return the table of changes with as many rows as fit."""
    for most in range(_MOST_CHANGES, 0, -1):
        changes = [*_changes(answer, most)]
        if len(changes) <= left:
            return changes
    return []


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
        if len(idle) > widths[0] - 4:
            yield from folded(f"  No help: {idle}.", "  ")
        else:
            yield cells((f"  {idle}", f"     {now}", "no help"), widths)


def _thin(answer: CutAnswer) -> list[str]:
    """Return the warning of a chip too thin to cut."""
    lines = chip_lines(
        float(answer.case.edge.mean_chip), answer.slow.least_chip, units=answer.result.setup.units
    )
    text = " ".join(" ".join(lines).split())
    return folded(text.removeprefix("Warning: ")) if text.startswith("Warning: ") else []
