"""The design questions of ``size`` as text: one short answer each, tables where they are asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from stickout.cli.text.cut_words import times
from stickout.cli.text.size_words import size_text_of
from stickout.cli.text.words import (
    folded,
    force_size,
    hertz,
    listed,
    load_name,
    percent,
    plain,
    spring_text,
    stiffness_text,
)
from stickout.fem.setup.bands import Spread
from stickout.fem.size.drilled import Drilled
from stickout.fem.size.gains import STEP_AT, STEP_TO, TAPER_TO, Gain
from stickout.fem.size.grip_length import KNEE_SHARE
from stickout.fem.size.job import SizeJob
from stickout.fem.size.options import ROUND_ONLY
from stickout.fem.size.questions import Questions
from stickout.fem.size.size import SizeAnswer
from stickout.fem.units import MM_PER_INCH, rounded

_LABEL: Final = 17
_ALIKE: Final = 0.02  # metals closer to mild steel than this are told in one breath


def questions_text(answer: SizeAnswer, questions: Questions) -> list[str]:
    """Return the questions with their answers and tables, lines no wider than 100 columns.

    Parameters
    ----------
    answer
        The ranking.
    questions
        The answers for its best bar.
    """
    job = answer.job
    found = [
        ("How far out?", _reach_words(answer, questions)),
        ("What per 1/16 in?" if job.units == "inch" else "What per mm?", _slope_words(answer, questions)),
        ("Which metal?", _metal_words(questions.materials)),
        ("Which shape?", _shape_words(questions.shapes)),
        ("How long a grip?", _grip_words(questions, job)),
        ("Where to drill?", _drill_words(answer, questions.holes)),
    ]
    lines = ["Asked next, of the bar ranked first (hand formulas: beam with shear, twist and seat)"]
    for label, text in found:
        if text:
            lines += _entry(label, text)
    return [*lines, *_tables(questions, job)]


def _entry(label: str, text: str) -> Iterator[str]:
    """Yield an answer with its question beside it."""
    first, *rest = folded("." * (_LABEL + 2) + text, " " * (_LABEL + 2))
    yield f"  {label:<{_LABEL}}{first[_LABEL + 2 :]}"
    yield from rest


def _reach_words(answer: SizeAnswer, questions: Questions) -> str:
    """Return how far the bar may stick out."""
    reach, job, option = questions.reach, answer.job, answer.best.option
    units, size, parts = job.units, option.size_mm, []
    here = option.setup.bar.overhang_mm / size
    if reach.rule is not None and reach.rule_compliance is not None and job.boring:
        low, likely, high = (plain(one) for one in (reach.rule.low, reach.rule.likely, reach.rule.high))
        ends = f"{low} to {high}" if low != high else low
        parts.append(
            f"The trade says {ends} times its size for {option.setup.bar_material.name}; {likely} times is "
            f"{size_text_of(reach.rule.likely * size, units)}, where the edge would spring "
            f"{spring_text(reach.rule_compliance, units)} per {load_name(units)}. Here it is "
            f"{rounded(here, 2)} times."
        )
    parts += wanted_words(questions, job)
    parts += _equal_words(questions, size)
    if reach.per_height is not None:
        step = 1.0 if units == "mm" else MM_PER_INCH / 16
        parts.append(
            f"A shank {_step_words(units)} taller may stick out {_length(reach.per_height * step, units)} "
            "further for the same spring."
        )
    return " ".join(parts)


def wanted_words(questions: Questions, job: SizeJob) -> list[str]:
    """Return the overhangs for a wanted spring and for a wanted depth."""
    reach, asked, units, out = questions.reach, questions.asked, job.units, []
    if asked.spring_off_mm is not None:
        force = force_size(reach.load_n, units) + (" of this cut" if job.cut else "")
        goal = f"to spring {_small(asked.spring_off_mm, units)} under {force}"
        out.append(f"For the edge {goal}: {_span(reach.for_compliance, units)}.")
    if asked.wanted_depth_mm is not None:
        goal = f"a depth of {_small(asked.wanted_depth_mm, units)} to stay quiet"
        out.append(f"For {goal} (solid, scaled by the beam): {_span(reach.depth, units)}.")
    return out


def _span(found: Spread | None, units: str) -> str:
    """Return an overhang as a band, or that none will do."""
    if found is None:
        return "no overhang that makes sense will do"
    low, likely, high = (
        size_text_of(float(f"{one:.2g}"), "mm") for one in (found.low, found.likely, found.high)
    )
    if units == "inch":
        low, likely, high = (
            f"{rounded(one / MM_PER_INCH, 2)} in" for one in (found.low, found.likely, found.high)
        )
    least = "none" if found.low == 0 else low
    return f"likely {likely} out, {least} to {high} within the bands"


def _equal_words(questions: Questions, size_mm: float) -> list[str]:
    """Return how far other metals may stick out to be as stiff as steel."""
    ratios = {
        name: one / size_mm
        for name, one in questions.reach.equal.items()
        if one is not None and "steel" not in name
    }
    if not ratios:
        return []
    told = listed([f"{name} {rounded(one, 2)}" for name, one in ratios.items()])
    return [f"As stiff as steel 4 times its size out, on a perfect root: {told} times."]


def _slope_words(answer: SizeAnswer, questions: Questions) -> str:
    """Return what a step of overhang is worth."""
    units, per = answer.job.units, questions.reach.per_mm
    step = 1.0 if units == "mm" else MM_PER_INCH / 16
    return (
        f"{_step_words(units).capitalize()} more overhang costs {plain(100 * per.stiffness * step, 2)} % of "
        f"the stiffness and {rounded(per.hertz * step, 2)} Hz; {_step_words(units)} less brings as much."
    )


def _step_words(units: str) -> str:
    return "a millimetre" if units == "mm" else "1/16 in"


def _metal_words(gains: Sequence[Gain]) -> str:
    """Return what other metals bring in this bar's place."""
    same = [one.name for one in gains if one.name != "steel" and abs(one.stiffness - 1) < _ALIKE]
    parts = [
        f"{one.name}: stiffness x {rounded(one.stiffness, 2)}, note x {rounded(one.note, 2)}, depth limit x "
        f"{rounded(one.limit, 2)}"
        for one in gains
        if one.name != "steel" and one.name not in same
    ]
    text = f"Against mild steel, seat included: {'; '.join(parts)}."
    if same:
        verb = "makes" if len(same) == 1 else "make"
        text += f" {listed(same).capitalize()} {verb} no difference: stronger is not stiffer."
    return text


def _shape_words(gains: Sequence[Gain]) -> str:
    """Return which shape is best in the same room."""
    if not gains:
        return ""
    parts = [
        f"{one.name} {rounded(one.stiffness, 2)} and {rounded(one.note, 2)}"
        for one in gains
        if one.name != "round"
    ]
    best, highest = gains[0], max(gains, key=lambda one: one.note)
    return (
        f"In the same room, steel, stiffness and note against round: {', '.join(parts)}. Stiffest: "
        f"{best.name}; highest note: {highest.name}."
    )


def _grip_words(questions: Questions, job: SizeJob) -> str:
    """Return how long a grip pays."""
    if questions.grip is None:
        return ""
    knee, units = questions.grip.knee, job.units
    size = questions.grip.points[1].gripped_mm  # the curve is in sizes: 0.5, 1, ...
    sizes = [rounded(one / size, 2) for one in (knee.low, knee.likely, knee.high)]
    return (
        f"{percent(KNEE_SHARE)} of an endless grip's stiffness from {_length(knee.likely, units)} on "
        f"({sizes[1]} times the gripped size) in a likely seat; from {_length(knee.high, units)} "
        f"({sizes[2]} times) in one as soft as its band allows. The trade asks for 3 to 4 times."
    )


def _drill_words(answer: SizeAnswer, holes: Sequence[Drilled]) -> str:
    """Return what a cutter hole costs, and where it hurts."""
    job, option = answer.job, answer.best.option
    if option.setup.bar_material.name in ROUND_ONLY and job.boring:
        return (
            f"Not in {option.setup.bar_material.name}: the cutter sits in a steel head, brazed or shrunk on; "
            "its weight, not counted here, lowers the note."
        )
    if not holes:
        return ""
    level, upright = holes
    hole = f"{_length(level.hole.diameter_mm, job.units)} hole"
    at = _length(level.hole.from_end_mm, job.units)
    return (
        f"A {hole} across, {at} from the end, costs {_lost(level.stiffness)} of the stiffness front to back "
        f"(for the cutter), {_lost(upright.stiffness)} top to bottom (for its screw, at worst right through)."
        f" It hurts most at the holder face: {_lost(level.at_root)} and {_lost(upright.at_root)}. Along the "
        f"hole the drilled section keeps {percent(level.section)} of its stiffness."
    )


def cross_hole_words(answer: SizeAnswer, holes: Sequence[Drilled]) -> str:
    """Return what a cutter hole costs, in one line; empty where none is drilled."""
    if not holes:
        return ""
    units, (level, upright) = answer.job.units, holes
    wide, at = (_length(one, units) for one in (level.hole.diameter_mm, level.hole.from_end_mm))
    worst = min(level.at_root, upright.at_root)
    lost = max(1 - level.stiffness, 1 - upright.stiffness)
    costs = "under 1 %" if lost < 0.01 else f"{plain(100 * lost)} %"
    return (
        f"cross hole {wide}, {at} from the end: costs {costs}. At the holder face it would cost "
        f"{_lost(worst)}."
    )


def _lost(share: float) -> str:
    """Return what is lost of a share that is kept."""
    return f"{plain(100 * (1 - share), 2)} %"


def _length(length_mm: float, units: str) -> str:
    """Return a length to two digits in mm, three in inches."""
    if units == "inch":
        return f"{rounded(length_mm / MM_PER_INCH, 3)} in"
    return f"{rounded(length_mm, 2)} mm"


def _small(length_mm: float, units: str) -> str:
    """Return a wanted length as it was given, in mm or thou."""
    return (
        f"{plain(length_mm / MM_PER_INCH * 1000, 3)} thou" if units == "inch" else f"{plain(length_mm, 3)} mm"
    )


def _tables(questions: Questions, job: SizeJob) -> Iterator[str]:
    """Yield the tables of the long form."""
    yield from _gain_table("Metals in this bar's place", questions.materials, job)
    if questions.shapes:
        yield from _gain_table("Shapes in the same room, mild steel", questions.shapes, job)
        yield (
            f"  stepped: {STEP_TO:g} of the size over the outer {100 * (1 - STEP_AT):.0f} % of the overhang; "
            f"tapered: to {TAPER_TO:g} of it at the end"
        )
    if questions.grip is not None:
        yield ""
        head = f"  {'Gripped':<12}{'over size':>10}{'stiffness':>12}{'note':>8}"
        yield f"{head}   of an endless grip, likely seat"
        size = questions.grip.points[1].gripped_mm
        for one in questions.grip.points:
            row = f"  {_length(one.gripped_mm, job.units):<12}{plain(one.gripped_mm / size):>10}"
            yield f"{row}{percent(one.stiffness):>12}{percent(one.note):>8}"


def _gain_table(title: str, gains: Sequence[Gain], job: SizeJob) -> Iterator[str]:
    """Yield stiffness and note of bars, and their ratios."""
    yield ""
    yield f"  {title:<38}{'stiffness':>13}{'note':>11}{'stiffness':>13}{'note':>8}{'depth':>8}"
    for one in gains:
        row = (
            f"  {one.name:<38}{stiffness_text(one.stiffness_n_per_m, job.units):>13}{hertz(one.note_hz):>11}"
        )
        yield f"{row}{times(one.stiffness):>13}{times(one.note):>8}{times(one.limit):>8}"
