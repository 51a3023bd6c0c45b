"""The answer of ``work`` as text: one screen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from stickout.cli.text.assumed_words import assumed_lines, bar_scales
from stickout.cli.text.words import (
    change,
    folded,
    force_size,
    hertz,
    margin_figure,
    percent,
    plain,
    stiffness_text,
    stiffness_unit,
)
from stickout.fem.beam.thin_wall import free_ring_notes, is_thin
from stickout.fem.beam.work_holding import FULL_JAW_MM
from stickout.fem.cut.along import SHARES, TOOL, CutStation
from stickout.fem.cut.assumed import holding_assumptions
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM, length_text, small_length_text
from stickout.fem.work.answer import OUT_OF_CHUCK, WorkAnswer, jaw_squeeze, slenderness
from stickout.fem.work.turning import pushed_ratio, turning_pair
from stickout.meshes.tagged import FloatArray

_RINGS = 3
_NO_LIMIT = 1e3
# Share of the part's own bending below which the holding is what gives.
_HELD = 0.4
# Force of one jaw that a ring is told for [N].
JAW_N = 1000.0
# Push of a tailstock that the part is told for [N]; share of the note left below which it is too much.
PUSH_N = 500.0
_BENT = 0.95
_FORMS = {
    "straight": "The turned diameter stays straight",
    "bell": "The part comes out as a bell, thicker toward its free end",
    "taper": "The part comes out tapered, thicker toward the chuck",
    "barrel": "The part comes out as a barrel",
    "lopsided barrel": "The part comes out as a barrel, lopsided to the softer end",
}


def work_text(answer: WorkAnswer, cuts: Sequence[CutStation] = (), *, more: bool = False) -> str:
    """Return the answer on one screen, with ``more`` everything; lines no wider than 100 columns.

    Parameters
    ----------
    answer
        The answer.
    cuts
        The cut at places along the part.
    more
        Whether the whole table of the cut and every assumed spring follow.
    """
    title = answer.setup.title or "Untitled set-up"
    blocks = [list(_opening(answer, cuts, title)), list(_along(answer, cuts)), list(_bought(answer))]
    blocks += (
        [list(_cuts(answer, cuts)), list(_small(answer)), list(_assumed(answer))]
        if more
        else [list(_foot(answer))]
    )
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(answer: WorkAnswer, cuts: Sequence[CutStation], title: str) -> Iterator[str]:
    """Yield title and opening, folded."""
    yield from folded(title)
    for one in opening_lines(answer, cuts):
        yield from folded(one)


def opening_lines(answer: WorkAnswer, cuts: Sequence[CutStation]) -> Iterator[str]:
    """Yield the worst place, who gives there, the first notes, the form, where it sings, the thin wall."""
    units, at = answer.setup.units, answer.worst
    size, unit = stiffness_unit(units)
    low, likely, high = answer.stiffness[:, at] / size
    yield (
        f"The part gives most {length_text(answer.stations[at] / MM, units)} from the headstock: "
        f"{plain(likely)} {unit} (between {plain(low)} and {plain(high)} as chucks and centres vary)."
    )
    own = float(answer.own[at])
    if own < _HELD:
        yield (
            f"Not the part gives there but what holds it: {percent(1 - own)} is in chuck, spindle and "
            "supports. A longer or tighter grip, a steady or a centre helps; a stiffer part does not."
        )
    notes = ", ".join(hertz(float(one)) for one in answer.frequency_hz[:3])
    yield f"Its first notes are {notes} (bending, alike up and sideways)."
    yield from filter(None, [_solid_words(answer)])
    if answer.setup.work is not None:
        yield _slender(answer.setup.work)
    spread = small_length_text(float(np.ptp(answer.form)), units)
    form = _FORMS[answer.form_name]
    if answer.setup.work is not None and answer.setup.work.held != "chuck":
        form = form.replace("its free end", "the tailstock")
    push = f"under a steady {force_size(answer.push, units)} its diameter varies by {spread}"
    yield f"{form}: {push}."
    yield from filter(None, [_sings(cuts, units)])
    yield from _wall(answer)


def _slender(work: Work) -> str:
    """Return how long the part is for its thickness, and what shops allow."""
    ratio, (low, high) = slenderness(work)
    where = "out of its chuck" if high <= OUT_OF_CHUCK[1] else "between its supports"
    said = "within" if ratio <= low else "at the edge of" if ratio <= high else "beyond"
    return (
        f"It stands {plain(ratio)} diameters {where}: {said} the {plain(low)} to {plain(high)} that shops go "
        "by. A rule of thumb; the curve decides."
    )


def _sings(cuts: Sequence[CutStation], units: str) -> str:
    """Return where the cut sings first, before and after the pass; nothing where it is quiet all along."""
    if not cuts:
        return ""
    worst = min(cuts, key=lambda one: min(one.margin, one.after))
    if min(worst.margin, worst.after) > 1:
        return "The cut is quiet all along, also when the part is turned down."
    place, who = length_text(worst.at_mm, units), "the tool" if worst.sings == TOOL else "the part"
    now, then = margin_text(worst.margin), margin_text(worst.after)
    after = f", {then} once it is turned down" if then != now else ""
    return f"The cut sings first at {place}, {who} at {hertz(worst.chatter_hz)}: margin {now}{after}."


def _wall(answer: WorkAnswer) -> Iterator[str]:
    """Yield what a thin wall does: it rings below the bending, and the jaws press it out of round."""
    material, work = answer.setup.materials["work"], answer.setup.work
    if work is None or not work.bore_mm:
        return
    modulus, units = material.youngs_modulus.likely, answer.setup.units
    if answer.rings:
        free = free_ring_notes(work, youngs_modulus=modulus, density=material.density.likely)
        yield _ring_words(answer, free)
    wall = 0.5 * (work.diameter_mm - work.bore_mm) * MM
    if work.held != "between centres" and is_thin(work):
        jaw = (work.jaw_length_mm or FULL_JAW_MM) * MM
        radius = 0.25 * (work.diameter_mm + work.bore_mm) * MM
        inward, outward = jaw_squeeze(JAW_N, radius=radius, bending=modulus * jaw * wall**3 / 12)
        yield (
            f"Three jaws of {force_size(JAW_N, units)} press a free ring as wide as they are "
            f"{small_length_text(inward, units)} in under each and {small_length_text(outward, units)} out "
            "between; a long tube less. It stays in the part, turned about, when the jaws let go."
        )


def _ring_words(answer: WorkAnswer, free: FloatArray) -> str:
    """Return what the wall rings at, between a free ring and an end held all round."""
    ends = [(one.waves, float(free[one.waves - 2]), one.note_hz) for one in answer.rings if one.waves < 5]
    told = [f"{waves} waves {hertz(low)} to {hertz(max(low, high))}" for waves, low, high in ends[:_RINGS]]
    first = answer.rings[0].note_hz < answer.frequency_hz[0]
    return (
        f"Its wall rings too: {', '.join(told)}, from a free ring to an end held all round. Three jaws pin "
        "three waves and let two ring. Stiffness and margins count it half-way between: pack it. "
        f"{'The wall sings before the part bends.' if first else ''}"
    ).strip()


def _solid_words(answer: WorkAnswer) -> str:
    """Return what the part is as a solid; empty where it was not asked."""
    found = answer.solid
    if found is None:
        return ""
    softer = found.stiffness / float(answer.stiffness[1, answer.worst]) - 1
    return (
        f"As a solid, steps and all, it is {change(softer)} in stiffness there (to "
        f"{plain(100 * found.stiffness_error, 1)} %) and sings first at {hertz(found.note_hz)} (to "
        f"{plain(100 * found.note_error, 1)} %): the curve is that of a beam whose steps are softened."
    )


def _along(answer: WorkAnswer, cuts: Sequence[CutStation]) -> Iterator[str]:
    """Yield stiffness, form and the cut's margin at a few places."""
    units, places = answer.setup.units, [one.at_mm * MM for one in cuts]
    places = places or [share * float(answer.stations[-1]) for share in SHARES]
    pick = [int(np.argmin(abs(answer.stations - at))) for at in places]
    size, unit = stiffness_unit(units)
    forms = [small_length_text(float(answer.form[i]), units) for i in pick]
    rows = {
        "From the headstock": [length_text(at / MM, units) for at in places],
        f"  stiffness, {unit}": [plain(float(answer.stiffness[1, i]) / size) for i in pick],
        "  error of the diameter": forms,
    }
    if cuts:
        rows["  margin of the cut"] = [margin_text(one.margin) for one in cuts]
        rows["  which sings"] = [one.sings for one in cuts]
    for name, values in rows.items():
        yield f"{name:<24}" + "".join(f"{one:>12}" for one in values)


def margin_text(value: float | None) -> str:
    """Return a margin; None or a great one is no limit."""
    return margin_figure(value) if value is not None and value < _NO_LIMIT else "no limit"


def _foot(answer: WorkAnswer) -> Iterator[str]:
    """Yield where the rest is."""
    work = answer.setup.work
    assumed = bool(holding_assumptions(work)) if work is not None else False
    guess = " The holding is guessed: one pull settles it." if assumed else ""
    yield from folded(f"A margin above 1 is quiet.{guess} Every spring: --more")


def _cuts(answer: WorkAnswer, cuts: Sequence[CutStation]) -> Iterator[str]:
    """Yield the cut at places along the part."""
    if not cuts:
        return
    units = answer.setup.units
    yield f"{'The cut':<24}{'margin':>10}{'after it':>10}{'pitch':>12}   which sings"
    for one in cuts:
        margin, after = margin_text(one.margin), margin_text(one.after)
        place = f"  {length_text(one.at_mm, units)} out"
        yield f"{place:<24}{margin:>10}{after:>10}{hertz(one.chatter_hz):>12}   {one.sings}"
    yield "Margins above 1 are quiet: the likely one at the worst of your speeds."


def _small(answer: WorkAnswer) -> Iterator[str]:
    """Yield what the push of the centre and the turning itself do between centres."""
    setup, work = answer.setup, answer.setup.work
    if work is None or work.held != "between centres" or work.steps:
        return
    material, speeds = setup.materials["work"], setup.cut.speeds_rpm if setup.cut else None
    rpm = max(speeds or (), default=0.0)
    pushed = pushed_ratio(work, material, push=PUSH_N)
    lower = plain(100 * (1 - pushed), 1)
    yield from folded(
        f"A tailstock that pushes with {force_size(PUSH_N, setup.units)} lowers the first note by {lower} %"
        f"{': push less' if pushed < _BENT else ''}."
    )
    if rpm:
        low, high = turning_pair(work, material, speed_rpm=rpm)
        apart = 50 * (high / low - 1)
        yield from folded(
            f"Turning at {plain(rpm, 4)} rpm moves its notes by {plain(apart, 1)} % up and down: nothing."
        )


def _bought(answer: WorkAnswer) -> Iterator[str]:
    """Yield what each support buys."""
    units = answer.setup.units
    yield f"{'Held':<40}{'least stiffness':>18}{'first note':>14}"
    for one in answer.bought:
        yield f"  {one.what:<38}{stiffness_text(one.least, units, digits=2):>18}{hertz(one.note_hz):>14}"


def _assumed(answer: WorkAnswer) -> Iterator[str]:
    """Yield the springs nobody measured."""
    work = answer.setup.work
    found = holding_assumptions(work) if work is not None else []
    named = [replace(one, name=one.name.removesuffix(", under the work")) for one in found]
    yield from assumed_lines(named, scales=bar_scales(answer.setup.units), name_width=22)
