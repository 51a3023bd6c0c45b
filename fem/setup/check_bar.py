"""Range checks of the bar, its steps and the edge: one InputError per fault, keys of the set-up file."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.setup.check_common import Faults, beyond_fault, choice_fault, found, size_fault
from stickout.fem.setup.parts import Setup
from stickout.fem.units import length_text
from stickout.meshes.parts import SECTIONS, Bar, Step

SECTION_SIZES: Final[Mapping[str, tuple[str, ...]]] = {
    "round": ("diameter",),
    "tube": ("diameter", "bore"),
    "flatted": ("diameter", "across_flats"),
    "square": ("width",),
    "rectangle": ("width", "height"),
}
# Overhang or gripped length over the least size: beyond it a unit was mistaken (common practice, no source).
MOST_SLENDER: Final = 500
MOST_MASS_G: Final = 1e6  # a tonne at the edge: a unit was mistaken
THINNEST: Final = 0.01  # of the diameter left across two flats: less is no bar (common practice, no source)
SIZES: Final = ("diameter", "bore", "across_flats", "width", "height")


def sizes_mm(piece: Bar | Step) -> dict[str, float | None]:
    """Return the five sizes of a bar or a step by their file names, as given."""
    return {name: getattr(piece, f"{name}_mm") for name in SIZES}


def smallest_size_mm(bar: Bar, *, at_end: bool) -> float:
    """Return the least width across the section at the holder face or at the free end [mm].

    NaN where the sizes that the section needs are not all given.
    """
    sizes = sizes_mm(bar)
    for step in bar.steps if at_end else ():
        sizes |= {name: value for name, value in sizes_mm(step).items() if value is not None}
    wanted = [sizes[name] for name in SECTION_SIZES.get(bar.section, ()) if name != "bore"]
    known = [size for size in wanted if size is not None]
    return min(known) if known and len(known) == len(wanted) else math.nan


def largest_size_mm(bar: Bar) -> float:
    """Return the diameter of the circle round the section at the holder face [mm]; NaN where unknown."""
    if bar.section == "square":
        return math.nan if bar.width_mm is None else math.sqrt(2) * bar.width_mm
    if bar.section == "rectangle":
        width, height = bar.width_mm, bar.height_mm
        return math.nan if width is None or height is None else math.hypot(width, height)
    return math.nan if bar.diameter_mm is None else bar.diameter_mm


def bar_faults(setup: Setup) -> Faults:
    """Yield the faults of the bar and its steps."""
    bar, units = setup.bar, setup.units
    yield from found(
        choice_fault("bar.section", bar.section, choices=SECTIONS),
        size_fault(
            "bar.overhang", bar.overhang_mm, units=units, mend="Measure from the holder face to the free end."
        ),
    )
    if not math.isfinite(bar.rotation_deg):
        yield InputError(
            key="bar.rotation_deg",
            given=bar.rotation_deg,
            allowed="a number of degrees",
            mend="Write 0 for none.",
        )
    yield from _gripped_faults(setup)
    if bar.section not in SECTION_SIZES:
        return
    sizes = sizes_mm(bar)
    yield from _piece_faults("bar", bar.section, sizes, sizes=sizes, units=units)
    yield from _length_faults(setup)
    yield from _step_faults(setup)


def _gripped_faults(setup: Setup) -> Faults:
    """Yield the fault of a gripped length that is missing, or negative."""
    gripped, rigid = setup.bar.gripped_mm, setup.grip.grown_out
    mend = "Give the length of bar inside the holder."
    if gripped < 0 or not math.isfinite(gripped) or (gripped == 0 and not rigid):
        allowed = (
            f"at or above 0 {setup.units}" if rigid else f"above 0 {setup.units} for style {setup.grip.style}"
        )
        given = MISSING if gripped == 0 else gripped
        yield InputError(key="bar.gripped", given=given, allowed=allowed, mend=mend)


def _length_faults(setup: Setup) -> Faults:
    """Yield the fault of an overhang or a gripped length that no bar of that size has."""
    bar = setup.bar
    size = smallest_size_mm(bar, at_end=False)
    for key, length in (("bar.overhang", bar.overhang_mm), ("bar.gripped", bar.gripped_mm)):
        yield from found(beyond_fault(key, length, size_mm=size, times=MOST_SLENDER, units=setup.units))


def _step_faults(setup: Setup) -> Faults:
    """Yield the faults of the steps: their order, and the sizes that hold from each one on.

    A held bar may change its size right at the holder face; a rigid one begins there.
    """
    bar, units = setup.bar, setup.units
    sizes, before, at_face = sizes_mm(bar), 0.0, not setup.grip.grown_out
    for number, step in enumerate(bar.steps, start=1):
        path, own = f"bar.steps.{number}", sizes_mm(step)
        sizes = sizes | {name: value for name, value in own.items() if value is not None}
        flush = number == 1 and at_face
        early = step.start_mm < 0 if flush else step.start_mm <= before
        if early or step.start_mm >= bar.overhang_mm > 0 or not math.isfinite(step.start_mm):
            least = f"{'at or ' if flush else ''}above {length_text(before, units)}"
            span = f"{least} and below {length_text(bar.overhang_mm, units)}"
            yield InputError(
                key=f"{path}.start",
                given=step.start_mm,
                allowed=span,
                mend="Steps follow each other from the holder face and begin before the free end.",
            )
        if all(value is None for value in own.values()):
            yield InputError(
                key=path,
                given=MISSING,
                allowed="given with at least one of " + ", ".join(SECTION_SIZES[bar.section]),
                mend="Say which size the bar has from there on.",
            )
        yield from _piece_faults(path, bar.section, own, sizes=sizes, units=units)
        before = max(before, step.start_mm)


def _piece_faults(
    path: str, section: str, own: Mapping[str, float | None], *, sizes: Mapping[str, float | None], units: str
) -> Faults:
    """Yield the faults of one piece; ``own``: the sizes stated there, ``sizes``: those that hold there."""
    wanted = SECTION_SIZES[section]
    for name, value in own.items():
        if value is not None and name not in wanted:
            yield InputError(
                key=f"{path}.{name}",
                given=value,
                allowed=f"left out for a {section} bar",
                mend=f"A {section} bar takes {' and '.join(wanted)}.",
            )
        elif value is not None or (path == "bar" and name in wanted):
            mend = f"A {section} bar takes {' and '.join(wanted)}."
            yield from found(size_fault(f"{path}.{name}", value, units=units, mend=mend))
    if any(own.get(name) is not None for name in wanted):
        yield from _fit_faults(path, own, sizes, units=units)


def _fit_faults(
    path: str, own: Mapping[str, float | None], sizes: Mapping[str, float | None], *, units: str
) -> Faults:
    """Yield the fault of a bore or of flats that do not fit inside the diameter."""
    mends = {
        "bore": "The bore must leave a wall; give the inner diameter.",
        "across_flats": "Measure over the two flats; without flats the section is round.",
    }
    diameter = sizes["diameter"]
    flats = own["across_flats"]
    if diameter is not None and flats is not None and 0 < flats < THINNEST * diameter:
        least = f"at least a hundredth of the diameter, {length_text(THINNEST * diameter, units)}"
        yield InputError(key=f"{path}.across_flats", given=flats, allowed=least, mend=mends["across_flats"])
    for name, mend in mends.items():
        inner = sizes[name]
        if diameter is None or inner is None or not inner >= diameter > 0:
            continue
        given = inner if own[name] is not None else f"{length_text(inner, units)}, kept from before"
        yield InputError(
            key=f"{path}.{name}",
            given=given,
            allowed=f"below the diameter, {length_text(diameter, units)}",
            mend=mend,
        )


def edge_faults(setup: Setup) -> Faults:
    """Yield the faults of the edge point and its mass."""
    edge, overhang = setup.edge, setup.bar.overhang_mm
    if not edge.end_distance_mm >= 0 or edge.end_distance_mm >= overhang > 0:
        yield InputError(
            key="edge.end_distance",
            given=edge.end_distance_mm,
            allowed=f"from 0 to below the overhang, {length_text(overhang, setup.units)}",
            mend="Measure back from the free end.",
        )
    for name in ("offset_y", "offset_z"):
        offset = getattr(edge, f"{name}_mm")
        if not math.isfinite(offset):
            yield InputError(
                key=f"edge.{name}", given=offset, allowed="a length", mend="Measure from the bar's axis."
            )
    if not 0 <= edge.mass_g <= MOST_MASS_G:
        yield InputError(
            key="edge.mass_g",
            given=edge.mass_g,
            allowed=f"at or above 0 grams, and at most {MOST_MASS_G:.0f}",
            mend="Weigh insert, screw and head.",
        )
