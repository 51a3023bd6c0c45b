"""The table of speeds of ``cut``: word, chance and wave at each; depth or what was heard beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.screen import cells
from stickout.cli.text.speed_words import in_ten, rpm_words, surface_number, word_of
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.speed_verdict import QUIET, SpeedVerdict, word_for

_MOST: Final = 6
# A depth limit further than this from the cut's own depth, either way, is no part of the question.
_NEAR: Final = (0.25, 5.0)


def depth_matters(answer: CutAnswer) -> bool:
    """Return whether at one of the speeds the cut is quiet up to a depth not far from its own."""
    if answer.case.cut.operation == "parting":
        return False
    low, high = (share * answer.case.depth for share in _NEAR)
    return any(low <= one.deepest_quiet <= high for one in answer.verdict.speeds)


def depth_is_free(answer: CutAnswer) -> bool:
    """Return whether every speed given is quiet at any depth looked at, with the whole nose in the work."""
    verdict, cut = answer.verdict, answer.case.cut
    free = all(one.verdict == QUIET and math.isinf(one.deepest_quiet) for one in verdict.speeds)
    nose_in = (cut.depth_mm or 0.0) > (cut.nose_radius_mm or 0.0)
    return free and nose_in and not verdict.speeds_assumed and cut.operation != "parting"


def speed_rows(answer: CutAnswer) -> Iterator[str]:
    """Yield the table of speeds; it has no more than six rows."""
    units, shown = answer.result.setup.units, shown_speeds(answer.verdict.speeds)
    surface = "ft/min" if units == "inch" else "m/min"
    if any(one.counts for one in answer.verdict.heard):
        widths = (-6, -8, 19, 20)
        yield cells(("rpm", surface, "   before", "with what you heard"), widths).rstrip()
        for one in shown:
            before = f"   {word_for(one.p_before):<10}{in_ten(one.p_before):>2}"
            after = f"{word_of(one):<13}{in_ten(one.p_quiet):>2}"
            yield cells((rpm_words(one), surface_number(one, units), before, after), widths)
        return
    deep = depth_matters(answer) or depth_is_free(answer)
    sure = max(len("may sing"), *(len(word_of(one)) for one in shown))
    widths = (-6, -8, sure + 5, 14, *((20,) if deep else ()), 18)
    heads = [
        "rpm",
        surface,
        "   verdict",
        "quiet in 10",
        *(["deepest quiet cut"] if deep else []),
        "wave on the work",
    ]
    yield cells(heads, widths)
    for one in shown:
        wave = fine_length(one.wavelength, units, digits=2) if math.isfinite(one.wavelength) else "-"
        row = [
            rpm_words(one),
            surface_number(one, units),
            f"   {word_of(one)}",
            f"     {in_ten(one.p_quiet)}",
        ]
        yield cells([*row, *([_deepest(one, units)] if deep else []), wave], widths)


def shown_speeds(speeds: Sequence[SpeedVerdict]) -> list[SpeedVerdict]:
    """Return the speeds worth a row: all of few, of many those either side of each change of word."""
    if len(speeds) <= _MOST:
        return list(speeds)
    last = len(speeds) - 1
    turns = [n for n in range(last) if word_of(speeds[n]) != word_of(speeds[n + 1])]
    wanted = [0, last, *(at for n in turns for at in (n, n + 1)), *range(last)]
    return [speeds[n] for n in sorted(list(dict.fromkeys(wanted))[:_MOST])]


def depth_line(answer: CutAnswer) -> str:
    """Return between which depths it may go either way, at the speed that changes are told at."""
    if depth_is_free(answer):
        deepest = fine_length(answer.deepest, answer.result.setup.units, digits=2)
        return (
            f"Looked at to {deepest}. Once the nose is in, more depth pushes along the bar; the flank holds "
            "the rest."
        )
    stated, units = answer.verdict.stated, answer.result.setup.units
    quiet, noisy = stated.deepest_quiet, stated.noisy_depth
    if not depth_matters(answer) or noisy is None or not 0 < quiet < noisy or stated.speed_rpm is None:
        return ""
    upto, past = (fine_length(one, units, digits=2) for one in (quiet, noisy))
    at = f"At {rpm_words(stated)} rpm"
    return f"{at}: quiet to {upto}, noisy from {past}; between them it may go either way."


def _deepest(one: SpeedVerdict, units: str) -> str:
    """Return the deepest quiet cut at a speed."""
    if math.isinf(one.deepest_quiet):
        return "no limit found"
    return fine_length(one.deepest_quiet, units, digits=2) if one.deepest_quiet else "none"
