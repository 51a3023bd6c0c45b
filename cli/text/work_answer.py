"""The answer of ``work`` as text: one screen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from stickout.cli.text.assumed_words import assumed_lines
from stickout.cli.text.words import folded, hertz, plain
from stickout.fem.beam.work_holding import FULL_JAW_MM
from stickout.fem.cut.assumed import holding_assumptions
from stickout.fem.units import MM, N_PER_UM, length_text, small_length_text
from stickout.fem.work.answer import WorkAnswer, free_ring_notes, jaw_squeeze

_SHOWN = 5
# Wall over diameter below which a ring is thin; force of one jaw it is told for [N].
_THIN = 0.1
JAW_N = 1000.0
_FORMS = {
    "straight": "The turned diameter stays straight",
    "bell": "The part comes out as a bell, thicker toward its free end",
    "taper": "The part comes out tapered, thicker toward the chuck",
    "barrel": "The part comes out as a barrel",
    "lopsided barrel": "The part comes out as a barrel, lopsided to the softer end",
}


def work_text(answer: WorkAnswer) -> str:
    """Return the whole answer, lines no wider than 100 columns."""
    title = answer.setup.title or "Untitled set-up"
    blocks = [
        list(_opening(answer, title)),
        list(_along(answer)),
        list(_bought(answer)),
        list(_assumed(answer)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(answer: WorkAnswer, title: str) -> Iterator[str]:
    """Yield the worst place, the first note and the form."""
    units, at = answer.setup.units, answer.worst
    low, likely, high = answer.stiffness[:, at] / N_PER_UM
    yield from folded(title)
    yield from folded(
        f"The part gives most {length_text(answer.stations[at] / MM, units)} from the headstock: "
        f"{plain(likely)} N/µm (between {plain(low)} and {plain(high)} as chucks and centres vary)."
    )
    notes = ", ".join(hertz(float(one)) for one in answer.frequency_hz[:3])
    yield from folded(f"Its first notes are {notes} (bending, alike up and sideways).")
    spread = small_length_text(float(np.ptp(answer.form)), units)
    yield from folded(
        f"{_FORMS[answer.form_name]}: under a steady {plain(answer.push)} N its diameter varies by {spread}."
    )
    yield from _wall(answer)


def _wall(answer: WorkAnswer) -> Iterator[str]:
    """Yield what a thin wall does: it rings below the bending, and the jaws press it out of round."""
    material, work = answer.setup.materials["work"], answer.setup.work
    if work is None or not work.bore_mm:
        return
    modulus, units = material.youngs_modulus.likely, answer.setup.units
    ring = free_ring_notes(work, youngs_modulus=modulus, density=material.density.likely)
    if ring[0] < answer.frequency_hz[0]:
        yield from folded(
            f"Its wall may ring as low as {hertz(float(ring[0]))} (a free ring of two waves), below its "
            "bending; jaws and a held end raise that, up to twice and more."
        )
    wall = 0.5 * (work.diameter_mm - work.bore_mm) * MM
    if work.held != "between centres" and wall < _THIN * work.diameter_mm * MM:
        jaw = (work.jaw_length_mm or FULL_JAW_MM) * MM
        radius = 0.25 * (work.diameter_mm + work.bore_mm) * MM
        inward, outward = jaw_squeeze(JAW_N, radius=radius, bending=modulus * jaw * wall**3 / 12)
        yield from folded(
            f"Three jaws of {plain(JAW_N)} N press a free ring as wide as they are "
            f"{small_length_text(inward, units)} in under each and {small_length_text(outward, units)} out "
            "between; a long tube less. It stays in the part, turned about, when the jaws let go."
        )


def _along(answer: WorkAnswer) -> Iterator[str]:
    """Yield stiffness and form at a few places."""
    pick = np.linspace(0, len(answer.stations) - 1, _SHOWN).round().astype(int)
    places = [length_text(answer.stations[i] / MM, answer.setup.units) for i in pick]
    yield "From the headstock      " + "".join(f"{one:>14}" for one in places)
    yield "  stiffness, N/µm       " + "".join(
        f"{plain(answer.stiffness[1, i] / N_PER_UM):>14}" for i in pick
    )
    forms = [small_length_text(float(answer.form[i]), answer.setup.units) for i in pick]
    yield "  error of the diameter " + "".join(f"{one:>14}" for one in forms)


def _bought(answer: WorkAnswer) -> Iterator[str]:
    """Yield what each support buys."""
    yield f"{'Held':<40}{'least stiffness':>18}{'first note':>14}"
    for one in answer.bought:
        yield f"  {one.what:<38}{plain(one.least / N_PER_UM) + ' N/µm':>18}{hertz(one.note_hz):>14}"


def _assumed(answer: WorkAnswer) -> Iterator[str]:
    """Yield the springs nobody measured."""
    work = answer.setup.work
    found = holding_assumptions(work) if work is not None else []
    named = [replace(one, name=one.name.removesuffix(", under the work")) for one in found]
    yield from assumed_lines(named, name_width=22)
