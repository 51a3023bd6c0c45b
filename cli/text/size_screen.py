"""The answer of ``size`` in one screen: the bar, what it does, the room; a rule; the ranking, what next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.screen import fitted, load_felt
from stickout.cli.text.size_questions import cross_hole_words, wanted_words
from stickout.cli.text.size_text import size_warnings, title_of
from stickout.cli.text.size_words import bar_words, gap_text, short_gap, size_text_of
from stickout.cli.text.speed_words import in_ten, speed_name, tried_line, verdict_line
from stickout.cli.text.words import folded, hertz, listed, percent, plain, spring_text
from stickout.fem.size.questions import Questions
from stickout.fem.size.size import Ranked, SizeAnswer
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.units import MM_PER_INCH, rounded

_MOST_BARS: Final = 5
_ALIKE: Final = 0.05  # a metal stiffer by less is no gain
_QUIETER: Final = 0.05  # of the chance: a bar quieter by less is not named
_MOSTLY: Final = 0.6  # of the energy: more of it in the post, and the bar is not what gives
_NAME_WIDTH: Final = 42
_MOST_LINES: Final = 25
_LABEL: Final = 9
_FOOT: Final = (
    "Stop the spindle before you try the bar in the hole; wind it through by hand before the first cut.",
    "Shapes and metals compared, what was assumed, sources: --more; write it as a set-up: --out bar.toml",
)


def size_screen(answer: SizeAnswer, questions: Questions) -> str:
    """Return the answer in one screen, at most 25 lines of 100 columns, lengths in the job's units.

    Parameters
    ----------
    answer
        The ranked bars.
    questions
        The design questions for the best of them.
    """
    best, job = answer.best, answer.job
    warnings = size_warnings(answer, questions)
    head = [
        *folded(title_of(answer)),
        *folded(_bar(best, job.units)),
        *[line for one in warnings[:2] for line in folded(f"Mind: {one}", "  ")],
        "",
        *folded(_does(answer)),
        *folded(_room(answer, questions)),
    ]
    after, foot = [*_next(answer, questions)], (*folded(_seat(answer, questions)), *_FOOT)
    left = _MOST_LINES - len(head) - 1 - len(after) - len(foot)
    for most in range(_MOST_BARS, 0, -1):
        bars = [*_table(answer, most)]
        if len(bars) <= left:
            break
    return fitted(head, [*bars, *after], foot=foot)


def _bar(best: Ranked, units: str) -> str:
    """Return the best bar in a sentence."""
    setup = best.option.setup
    words = bar_words(best.option, units)
    ratio = plain(setup.bar.overhang_mm / best.option.size_mm)
    size = "heights" if best.option.shape == "rectangle" else "times its size"
    out = size_text_of(setup.bar.overhang_mm, units)
    if setup.grip.at_both_ends:
        return f"{words[:1].upper()}{words[1:]}, {out} between centres, cutter in the middle."
    return f"{words[:1].upper()}{words[1:]}, {out} out of the holder ({ratio} {size})."


def _does(answer: SizeAnswer) -> str:
    """Return spring and verdict of the best bar, and which other is quieter or sold."""
    best, units = answer.best, answer.job.units
    text = f"Springs {spring_text(best.compliance_along, units)} for {load_felt(units)}.{_post(best)}"
    if best.cut is None:
        text += f" Tapped, it rings at about {hertz(best.note)}."
    else:
        words = (tried_line(best.cut.verdict, units), verdict_line(best.cut.verdict, units))
        text += "".join(f" {one}" for one in words if one)
    sold = answer.best_stock
    if sold is None:
        text += " No size that is sold fits: it must be made."
    elif sold is not best:
        more = sold.compliance_along / best.compliance_along - 1
        text += f" As sold: {bar_words(sold.option, units)}, {100 * more:.0f} % more spring."
    return text + _quieter(answer)


def _post(best: Ranked) -> str:
    """Return that no bar helps where the post gives most; nothing else."""
    shares = {} if best.result is None else best.result.shares
    at = 0 if best.result is None else best.result.aligned
    share = float(shares[CARRIER][at]) if CARRIER in shares else 0.0
    if share < _MOSTLY:
        return ""
    return f" {percent(share)} of it is in post and slides, which no bar mends."


def _quieter(answer: SizeAnswer) -> str:
    """Return which bar is quieter in this cut than the stiffest, where one is: stiffness is not all."""
    chances = [_chance(answer, one) for one in answer.solved]
    if not chances or chances[0] is None:
        return ""
    at = max(range(len(chances)), key=lambda n: chances[n] or 0.0)
    gained = chances[at] or 0.0
    if gained < chances[0] + _QUIETER or in_ten(gained) == in_ten(chances[0]):
        return ""
    named = bar_words(answer.solved[at].option, answer.job.units)
    return f" Quieter in this cut: {named}, {in_ten(gained)} in 10 instead of {in_ten(chances[0])}."


def _chance(answer: SizeAnswer, one: Ranked) -> float | None:
    """Return the chance of a bar at the speed that the best one's is told at."""
    if one.cut is None or answer.best.cut is None:
        return None
    speeds = answer.best.cut.verdict.speeds
    return one.cut.verdict.speeds[speeds.index(answer.best.cut.verdict.stated)].p_quiet


def _room(answer: SizeAnswer, questions: Questions) -> str:
    """Return what room is left, what more of it costs, and what less reach brings."""
    job, place, per = answer.job, answer.best.option.place, questions.reach.per_mm
    inch = job.units == "inch"
    parts = []
    if place is not None:
        front, behind = (gap_text(one, job.units) for one in (place.gaps.front, place.gaps.behind))
        parts.append(f"Room: {front} in front for the cutter, {behind} behind for chips.")
    if questions.clearance is not None:
        lost = 1 - (1 - questions.clearance) ** (MM_PER_INCH / 32 if inch else 1.0)
        each = "1/32 in" if inch else "mm"
        parts.append(f"Each further {each} for chips costs {100 * lost:.0f} % of the stiffness.")
    step = MM_PER_INCH / 16 if inch else 1.0
    brings = plain(100 * per.stiffness * step, 2)
    parts.append(f"{'1/16 in' if inch else 'A mm'} less reach brings {brings} %.")
    return " ".join(parts)


def _table(answer: SizeAnswer, most: int) -> Iterator[str]:
    """Yield the best bars: spring, ring, room behind, and with a cut how many in ten stay quiet."""
    units, best = answer.job.units, answer.best
    head = f"   {'bar':<{_NAME_WIDTH}}{'spring':>7}{'ring':>10}{'room behind':>13}"
    if best.cut is not None:
        head += f"  quiet in 10, {speed_name(best.cut.verdict.stated, units)}"
    yield head
    for number, one in enumerate(answer.solved[:most], start=1):
        name = bar_words(one.option, units, article=False)
        start = f"{number:>2} {name}"
        if len(name) >= _NAME_WIDTH:
            yield start
            start = ""
        gap = "-" if one.option.place is None else short_gap(one.option.place.gaps.behind, units)
        chance = _chance(answer, one)
        spring = spring_text(one.compliance_along, units)
        row = f"{start:<{_NAME_WIDTH + 3}}{spring:>7}{hertz(one.note):>10}{gap:>13}"
        yield row + ("" if chance is None else f"{in_ten(chance):>9}")


def _next(answer: SizeAnswer, questions: Questions) -> Iterator[str]:
    """Yield what is asked next, a line each."""
    for label, text in (
        ("Reach", " ".join(wanted_words(questions, answer.job))),
        ("Metal", _metals(questions)),
        ("Grip", _grip(answer, questions)),
        ("Cutter", cross_hole_words(answer, questions.holes)),
    ):
        if text:
            first, *rest = folded("." * _LABEL + text, " " * _LABEL)
            yield f"{label:<{_LABEL}}{first[_LABEL:]}"
            yield from rest


def _metals(questions: Questions) -> str:
    """Return how much stiffer other metals are in this bar's place."""
    others = [one for one in questions.materials if one.name != "steel"]
    gains = [f"{one.name} {rounded(one.stiffness, 2)}" for one in others if one.stiffness > 1 + _ALIKE]
    same = [one.name for one in others if abs(one.stiffness - 1) <= _ALIKE]
    text = f"{', '.join(gains)} times as stiff as mild steel." if gains else ""
    named = listed(same)
    return text + (f" {named[:1].upper()}{named[1:]}: no gain." if same else "")


def _grip(answer: SizeAnswer, questions: Questions) -> str:
    """Return how long a grip is plenty, and under which it tells."""
    if questions.grip is None:
        return ""
    knee, units = questions.grip.knee, answer.job.units
    size = questions.grip.points[1].gripped_mm  # the curve is in sizes: 0.5, 1, ...
    plenty, least = (size_text_of(float(f"{one:.2g}"), units) for one in (knee.high, knee.likely))
    return f"{plenty} is plenty ({plain(knee.high / size)} times the gripped size); under {least} it tells."


def _seat(answer: SizeAnswer, questions: Questions) -> str:
    """Return what the seat may make of the spring."""
    low, high = (
        spring_text(one, answer.job.units)
        for one in (questions.compliance_along.low, questions.compliance_along.high)
    )
    guess = "what holds the ends" if answer.job.between else "the seat"
    return f"An estimate: {guess} could make the spring {low} to {high}. Tap or pull the finished bar."
