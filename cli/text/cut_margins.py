"""Margins of a cut for those who want numbers: each speed with its band, and how deep it stays quiet."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.cli.text.cut_words import FEW_WAVES, fine_length
from stickout.cli.text.speed_words import rpm_words, speed_name, surface_number
from stickout.cli.text.words import folded, hertz, listed, margin_figure
from stickout.fem.cut.absorber import DAMPING, TUNING
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.spread import FORCE, GRIP, LOSS
from stickout.fem.cut.usual_edge import ANGLE, NOSE
from stickout.fem.units import rounded

_NARROWS: Final = {
    LOSS: "Damping is the number that widens this most: tap the clamped bar, and let `stickout fit` "
    "take it in.",
    GRIP: "The grip is the number that widens this most: pull the edge with a spring scale against a dial.",
    TUNING: "The absorber's tuning is the number that widens this most: tap the slug in its rings, warm and "
    "cold, with the bar held still.",
    DAMPING: "The damping of the absorber's rings is the number that widens this most: take it from the ring "
    "of a tap.",
    NOSE: "The nose radius, taken as usual, is the number that widens this most: read it off the insert's "
    "code, or hold a radius gauge to it.",
    ANGLE: "The edge angle, taken as usual, is the number that widens this most: measure it from the feed.",
    FORCE: "How hard the metal pushes back widens this most: spring passes tell it, by `stickout fit`.",
}


def margin_words(answer: CutAnswer) -> str:
    """Return the margin at the worst speed and the one without rubbing, with their bands."""
    worst, dry = answer.verdict.speeds[answer.verdict.worst], answer.spread.margin
    at = speed_name(worst, answer.result.setup.units)
    ends = worst.margin
    text = (
        f"Margin (above 1 is likely quiet) at {at}, the worst speed: "
        f"{margin_figure(ends.likely)}, nine times in ten between {margin_figure(ends.low)} and "
        f"{margin_figure(ends.high)}."
    )
    if math.isfinite(dry.likely):
        text += (
            f" Without the flank's rubbing, at any speed: {margin_figure(dry.likely)} "
            f"({margin_figure(dry.low)} to {margin_figure(dry.high)}). {_narrows(answer)}"
        )
    return text


def _narrows(answer: CutAnswer) -> str:
    """Return which number to measure first, and how."""
    most = answer.spread.margin.narrows_most
    if most == LOSS and answer.limiting is None:
        return "Damping is the number that widens this most: tap the clamped work where it is cut."
    if most == FORCE and answer.case.cut.push is not None:
        return "The metal's push widens this most, though it was measured: more spring passes narrow it."
    return _NARROWS[most]


def margin_rows(answer: CutAnswer) -> Iterator[str]:
    """Yield the margin at each speed with its band, and what the flank holds down."""
    units, verdict = answer.result.setup.units, answer.verdict
    surface = "ft/min" if units == "inch" else "m/min"
    yield f"     rpm   {surface:>6}   margin   9 in 10 inside   waves a turn   wave on the work   if it sings"
    for one in verdict.speeds:
        wave = fine_length(one.wavelength, units, digits=2)
        waves = rounded(one.waves, 2) if math.isfinite(one.waves) else "-"
        ends = f"{margin_figure(one.margin.low)} to {margin_figure(one.margin.high)}"
        row = f"{rpm_words(one):>8}{surface_number(one, units):>9}{margin_figure(one.margin.likely):>9}"
        yield f"{row}   {ends:<15}{waves:>12}{wave:>19}   {hertz(one.chatter_hz):>11}"
    star = verdict.wave_star
    low, likely, high = (fine_length(one, units, digits=2) for one in (star.low, star.likely, star.high))
    edge = {"land": "the land you gave", "ground": "a ground edge"}.get(
        verdict.edge, f"a {verdict.edge} edge"
    )
    yield from folded(
        f"The rubbing flank is in these margins: {edge} holds down waves shorter than about {likely} ({low} "
        f"to {high}; {star.source}). A freshly sharpened edge calms less, a worn one more.",
        "  ",
    )
    yield from folded(_whispers(answer), "  ")
    few = [one for one in verdict.speeds if one.waves < FEW_WAVES]
    if few:
        yield from folded(
            f"At {listed([speed_name(one, units) for one in few])} a turn holds so few waves that the speed "
            "itself sets their phase: a few per cent faster or slower may change the answer.",
            "  ",
        )
    yield from folded(_depths(answer), "  ")


def _whispers(answer: CutAnswer) -> str:
    """Return that some margins are those of a whisper, which words and chances leave out; mostly empty."""
    soft = [(one, one.whisper_hz) for one in answer.verdict.speeds if one.whisper_hz is not None]
    if not soft:
        return ""
    at = listed([speed_name(one, answer.result.setup.units) for one, _ in soft])
    return (
        f"The margin at {at} is that of a swing at {hertz(soft[-1][1])}, which the back of the edge stops at "
        "a whisper. Words, chances and pitch are those of what can be heard."
    )


def _depths(answer: CutAnswer) -> str:
    """Return how deep the cut stays quiet at each speed."""
    units, free = answer.result.setup.units, math.inf
    depths: dict[str, list[str]] = {}
    for one in answer.verdict.speeds:
        deep = one.deepest_quiet
        words = "no limit found" if deep == free else fine_length(deep, units) if deep else "none"
        depths.setdefault(words, []).append(speed_name(one, units))
    told = [f"{words} at {listed(speeds)}" for words, speeds in depths.items()]
    nose = (
        " Once the nose is in the work, more depth hardly pushes harder across the cut."
        if answer.saturated
        else ""
    )
    deepest = fine_length(answer.deepest, units, digits=2)
    return f"Deepest quiet cut, looked at to {deepest}: {', '.join(told)}.{nose}"
