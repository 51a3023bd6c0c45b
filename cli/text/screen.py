"""What every answer of one screen is made of: set-up line, spring, pitch, warnings, rule, foot, its size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from stickout.cli.text.words import folded, load_name, plain, screw_count, size_words
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.units import MM_PER_INCH, length_text

RULE: Final = "-" * 64
FOOT: Final = (
    "Before you start: gibs snug, edge sharp and on centre, guards on, eyes covered, hand at the stop.",
    "An estimate. Post, slides and spindle are not in it. Numbers, sources, full checklist: --more",
)
# The same where the post is described.
FOOT_ON_POST: Final = (FOOT[0], FOOT[1].replace("Post, slides and spindle are", "The spindle is"))
MOST_WARNED: Final = 2
_KEPT: Final = {"hss": "HSS", "high speed steel": "HSS"}


def fitted(head: Sequence[str], table: Sequence[str], *, foot: Sequence[str]) -> str:
    """Return an answer: what is said first, a rule, the table with what belongs to it, the foot."""
    return "\n".join([*head, RULE, *table, *foot]) + "\n"


def bar_line(setup: Setup, *, grip: bool = True) -> str:
    """Return the bar in a line: "Steel 16 mm, 80 mm out (5 diameters), gripped 60 mm all round"."""
    bar, units = setup.bar, setup.units
    name = setup.bar_material.name
    metal = _KEPT.get(name, name[:1].upper() + name[1:])
    kind = " tube" if bar.section == "tube" else ""
    steps = "".join(f", {size_words(s, units)} from {length_text(s.start_mm, units)} on" for s in bar.steps)
    turned = f", turned {plain(bar.rotation_deg, 3)} degrees" if bar.rotation_deg else ""
    held = f", {grip_phrase(setup)}" if grip else ""
    size = size_words(bar, units)
    if bar.section == "square":  # a turner says both sides
        size = f"{size.split()[0]} x {size}"
    if setup.grip.at_both_ends:
        back = length_text(setup.edge.end_distance_mm, units)
        return f"{metal}{kind} {size}{steps}{turned}, {reach_words(setup)}, cutter {back} from the far end"
    return (
        f"{metal}{kind} {size}{steps}{turned}, {length_text(bar.overhang_mm, units)} out "
        f"({slenderness(setup)}){held}"
    )


def reach_words(setup: Setup) -> str:
    """Return how far the bar reaches: "80 mm out", or "320 mm between centres" where both ends are held."""
    grip, out = setup.grip, length_text(setup.bar.overhang_mm, setup.units)
    if not isinstance(grip, CentresGrip):
        return f"{out} out"
    return f"{out} between {grip.held.removeprefix('between ')}"


def slenderness(setup: Setup) -> str:
    """Return the overhang in sizes of the bar: "5 diameters", "3.5 heights"."""
    bar = setup.bar
    word = "diameter" if bar.diameter_mm else "height"
    number = plain(round(bar.overhang_mm / bar.size_mm, 1))
    return f"{number} {word}{'' if number == '1' else 's'}"


def grip_phrase(setup: Setup) -> str:
    """Return how the bar is held, in a few words of the trade."""
    gripped = f"gripped {length_text(setup.bar.gripped_mm, setup.units)}"
    shim = f" on {length_text(setup.shim.thickness_mm, setup.units)} of shim" if setup.shim else ""
    hold = setup.grip.hold
    block = "split sleeve" if hold.block is not None and hold.block.split else "bored block"
    if setup.grip.at_both_ends:
        return reach_words(setup)
    phrases = {
        "rigid": "rigid root (stiffer than real)",
        "held": "clamped solid (stiffer than real)",
        "bed": f"{gripped} all round",
        "slot": f"in the post{shim}, under {screw_count(hold)}",
        "sleeve": f"{gripped} in a {block}",
    }
    return phrases[hold.style]


def load_felt(units: str) -> str:
    """Return the load that springs are told under, with what it feels like where a line has room for it."""
    return load_name(units) if units == "inch" else f"{load_name(units)} (1 kg)"


def fine_size(size_mm: float, units: str) -> str:
    """Return a depth, a feed or a nose without its unit where it is mm: "0.2", "10 thou"."""
    if units == "inch":
        return f"{plain(size_mm / MM_PER_INCH * 1000, 3)} thou"
    return plain(size_mm, 3)


def job_line(setup: Setup, cut: Cut, *, material: str) -> str:
    """Return what is cut: "Boring medium carbon steel, 24 mm bore: 0.2 deep, feed 0.05, nose 0.4"."""
    units, size = setup.units, cut.work_diameter_mm
    where = ""
    if size:
        where = f", {length_text(size, units)}{' bore' if cut.operation == 'boring' else ''}"
    parts = [] if cut.operation == "parting" else [f"{fine_size(cut.depth_mm or 0.0, units)} deep"]
    parts.append(f"feed {fine_size(cut.feed_mm or 0.0, units)}")
    if cut.nose_radius_mm and cut.operation != "parting":
        parts.append(f"nose {fine_size(cut.nose_radius_mm, units)}")
    return f"{(cut.operation or 'cutting').capitalize()} {material}{where}: {', '.join(parts)}"


def warned(warnings: Sequence[str], most: int = MOST_WARNED) -> list[str]:
    """Return warnings as lines at the top: each folded, the rest under ``--more``."""
    lines = [line for one in warnings[:most] for line in folded(f"Mind: {one}", "  ")]
    left = len(warnings) - most
    return lines + ([f"Mind: {left} more, see --more."] if left > 0 else [])


def cells(row: Sequence[str], widths: Sequence[int]) -> str:
    """Return one line of a table; a positive width sets a cell to the left, a negative one to the right."""
    return "".join(c.ljust(w) if w > 0 else c.rjust(-w) for c, w in zip(row, widths, strict=True)).rstrip()


def lean_words(y: float, z: float) -> str:
    """Return a slantwise swing: "17° off upright (to the right, end on)"."""
    lean = math.degrees(math.atan2(y, z)) if z >= 0 else math.degrees(math.atan2(-y, -z))
    return f"{abs(lean):.0f}° off upright (to the {'right' if lean > 0 else 'left'}, end on)"
