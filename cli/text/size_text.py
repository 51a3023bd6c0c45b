"""What ``size --more`` tells beside its screen: the whole ranking, the questions, what was assumed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.cli.text.assumed_words import assumed_lines, bar_scales
from stickout.cli.text.cut_words import TOO_LIGHT, fine_length, ranged
from stickout.cli.text.size_questions import questions_text
from stickout.cli.text.size_words import across_words, bar_words, room_words, short_gap, size_text_of
from stickout.cli.text.words import (
    folded,
    force_size,
    force_words,
    hertz,
    load_name,
    load_words,
    margin_figure,
    note_name,
    plain,
    spring_text,
    stiffness_text,
)
from stickout.fem.force.loading import loading
from stickout.fem.size.job import Bore, SizeJob
from stickout.fem.size.questions import Questions
from stickout.fem.size.size import Ranked, SizeAnswer
from stickout.fem.units import MM, length_text, rounded

_BAR_WIDTH: Final = 43
_WORTH: Final = 1.05
CAUTIONS: Final = (
    "An estimate, not a promise: a straight, sound bar in a sound holder. Post, slides, a loose cutter and "
    "gibs are not in it, and the seat is the least known number: tap or pull the finished bar to settle it.",
    "Stop the spindle before you try the bar in the hole, and wind it through by hand before the first cut.",
)


def title_of(answer: SizeAnswer) -> str:
    """Return what the answer is about, in one line."""
    return job_words(answer.job)


def job_words(job: SizeJob) -> str:
    """Return the job in one line."""
    work, units = job.work, job.units
    if isinstance(work, Bore):
        bore, depth = (length_text(one, units) for one in (work.bore_mm, work.depth_mm))
        return f"Boring bar for a hole of {bore}, {depth} deep"
    where = "shoulder" if work.groove_mm is None else f"groove {length_text(work.groove_mm, units)} wide"
    return (
        f"Tool shank that reaches {length_text(work.reach_mm, units)} past the rim of a {where}, "
        f"{length_text(work.shoulder_mm, units)} in diameter"
    )


def size_text(answer: SizeAnswer, questions: Questions) -> str:
    """Return everything that the screen leaves out, lines no wider than 100 columns, in the job's units.

    Parameters
    ----------
    answer
        The ranked bars.
    questions
        The design questions for the best of them.
    """
    assumed, scales = [*answer.assumptions, *questions.assumptions], bar_scales(answer.job.units)
    blocks = [
        folded(_opening(answer, questions)),
        list(_table(answer)),
        list(_room(answer, questions)),
        questions_text(answer, questions),
        list(assumed_lines(assumed, scales=scales, name_width=41)),
        [line for one in size_warnings(answer, questions) for line in folded(f"Warning: {one}", "  ")],
        [line for one in (*CAUTIONS, *_metal_notes(answer)) for line in folded(one, "  ")],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(answer: SizeAnswer, questions: Questions) -> str:
    """Return the sentences that answer the question."""
    best, units = answer.best, answer.job.units
    setup = best.option.setup
    ratio = setup.bar.overhang_mm / best.option.size_mm
    text = (
        f"Stiffest: {bar_words(best.option, units)}, {size_text_of(setup.bar.overhang_mm, units)} out of the "
        f"holder ({rounded(ratio, 2)} times its size). Its edge springs "
        f"{spring_text(best.compliance_along, units)} for every {load_words(units)} "
        f"along the cutting force, and it sings at about {hertz(best.note)}, "
        f"near {note_name(best.note)}; within the bands of seat and metal "
        f"{spring_text(questions.compliance_along.low, units)} to "
        f"{spring_text(questions.compliance_along.high, units)}, "
        f"{hertz(questions.note.low)} to {hertz(questions.note.high)}."
    )
    sold = answer.best_stock
    if sold is None:
        return text + " No size that is sold fits: it must be made."
    if sold is not best:
        more = sold.compliance_along / best.compliance_along - 1
        text += (
            f" As sold: {bar_words(sold.option, units)}, which springs "
            f"{spring_text(sold.compliance_along, units)}, {100 * more:.0f} % more."
        )
    return text + _quiet(best, units) + _quietest(answer)


def _quiet(best: Ranked, units: str) -> str:
    """Return what the cut makes of the best bar."""
    if best.cut is None:
        return ""
    low, high = best.cut.margin.low, best.cut.margin.high
    upto = margin_figure(high, 1)
    margin = f"The margin of the cut lies between {margin_figure(low, 1)} and {upto} (1 is the limit)"
    return f" {margin}; depth that stays quiet: {depth_cell(best, units)}."


def _quietest(answer: SizeAnswer) -> str:
    """Return which bar takes the cut better than the stiffest one, where one does; stiffness is not all."""
    margins = {n: one.cut.margin.likely for n, one in enumerate(answer.solved) if one.cut is not None}
    if not margins:
        return ""
    at = max(margins, key=lambda n: margins[n])
    gain = margins[at] / margins[0]
    if not gain > _WORTH:
        return ""
    named = bar_words(answer.solved[at].option, answer.job.units)
    return f" Quieter in this cut than the stiffest, by a margin {rounded(gain, 2)} times as large: {named}."


def _table(answer: SizeAnswer) -> Iterator[str]:
    """Yield the ranking."""
    units, cutting = answer.job.units, answer.job.cut is not None
    per = f"per {load_name(units)}"
    head = f"   {'bar':<{_BAR_WIDTH}}{per:>10}{'stiffness':>12}{'note':>10}{'room':>10}"
    yield head + (f"{'depth':>15}" if cutting else "")
    for place, one in enumerate(answer.bars, start=1):
        number = str(place)
        name = bar_words(one.option, units, article=False) + (" *" if one.result is None else "")
        gaps = "-" if one.option.place is None else short_gap(one.option.place.gaps.behind, units)
        if len(name) >= _BAR_WIDTH:
            yield f"{number:>2} {name}"
            number, name = "", ""
        row = f"{number:>2} {name:<{_BAR_WIDTH}}{spring_text(one.compliance_along, units):>10}"
        row += f"{stiffness_text(one.stiffness, units):>12}{hertz(one.note):>10}{gaps:>10}"
        yield row + (f"{depth_cell(one, units):>15}" if cutting else "")
    rest = len(answer.bars) - len(answer.solved)
    yield from folded(_how(answer, rest), "  ")


def _how(answer: SizeAnswer, rest: int) -> str:
    """Return how the numbers of the table were found."""
    force = force_words(loading(answer.job.working_cut).direction.tolist())
    source = "of the set-up's cut" if answer.job.cut else "usual split of the operation"
    text = f"Along the force on the tool ({force}; {source}). Solid model (FE) in every row"
    if rest:
        return f"{text} but those with *: hand formula, beam with shear, twist and seat."
    worst = max(abs(one.hand_compliance_along / one.compliance_along - 1) for one in answer.solved)
    return (
        f"{text}; the hand formula, which ranked them and gives the ends of the bands, differs by at most "
        f"{plain(100 * worst, 2)} %."
    )


def depth_cell(one: Ranked, units: str) -> str:
    """Return the depth limit as a range, as short as a table wants it."""
    if one.depth is None:
        return "-"
    low, likely, high = one.depth.low, one.depth.likely, one.depth.high
    if high < TOO_LIGHT:
        return "none"
    if math.isinf(low):
        return "no limit"
    if math.isinf(high):
        return f"from {fine_length(low, units)} up"
    if low < TOO_LIGHT:
        return f"below {fine_length(max(likely, high), units)}"
    ends = ranged(low / MM, high / MM) if units == "mm" else ranged(low / 25.4e-6, high / 25.4e-6)
    return f"{ends} {'mm' if units == 'mm' else 'thou'}"


def _room(answer: SizeAnswer, questions: Questions) -> Iterator[str]:
    """Yield what room is left, and what more of it would cost."""
    job = answer.job
    yield from folded(f"Room: {room_words(answer.best.option, job)}", "  ")
    if questions.clearance is not None:
        inch = job.units == "inch"
        each, step = ("1/32 in", 25.4 / 32) if inch else ("millimetre", 1.0)
        lost = 1 - (1 - questions.clearance) ** step
        yield from folded(
            f"  Each {each} more for chips makes the bar as much thinner and costs {100 * lost:.0f} % of "
            "its stiffness (thickness counts by its fourth power, the give of the seat by less). "
            f"{across_words(answer)}",
            "  ",
        )


def _metal_notes(answer: SizeAnswer) -> list[str]:
    """Return what to know of the metals in the ranking."""
    metals = {one.option.setup.bar_material.name: one.option.setup.bar_material.note for one in answer.bars}
    return [f"{name.capitalize()}: {note}" for name, note in metals.items() if note and name != "steel"]


def size_warnings(answer: SizeAnswer, questions: Questions) -> list[str]:
    """Return the warnings of the best bar, and one where it would spring against the wall."""
    best, load = answer.best, questions.reach.load_n
    out = list(best.result.warnings) if best.result else []
    if best.option.place is not None and best.compliance_along * load > best.option.place.gaps.least:
        out.append(
            f"Under {force_size(load, answer.job.units)} even the stiffest bar springs further than the room "
            "it has: this hole wants another way, a bar held at both ends or a reamer."
        )
    return out
