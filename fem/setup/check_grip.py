"""Range checks of the grip and its joints: one InputError per fault, keys of the set-up file."""

from __future__ import annotations

import math
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.centres_grip import BAR_HOLDS, CentresGrip
from stickout.fem.setup.check_bar import largest_size_mm
from stickout.fem.setup.check_common import (
    TOUCH_MM,
    Faults,
    beyond_fault,
    choice_fault,
    found,
    loss_fault,
    size_fault,
)
from stickout.fem.setup.check_ends import end_faults
from stickout.fem.setup.grips import BedGrip, HeldGrip, SleeveGrip, SlotGrip
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.parts import Setup
from stickout.fem.units import length_text
from stickout.meshes.parts import SECTIONS, Bar

MOST_BLOCK: Final = 30  # block over the bar's size: beyond it a unit was mistaken
MOST_STIFF: Final = 1e7  # N/um per mm2: twenty nanometres of steel are as stiff
HELD_SECTIONS: Final = ("square", "rectangle")
SLEEVE_SECTIONS: Final = ("round", "tube")
SLOT_SECTIONS: Final = ("square", "rectangle", "flatted")
FEWEST_SCREWS, MOST_SCREWS = 1, 12


def grip_faults(setup: Setup) -> Faults:
    """Yield the faults of the grip."""
    match setup.grip:
        case HeldGrip() as held:
            yield from _flat_faults(setup.bar, "held", HELD_SECTIONS)
            yield from _pressed_faults(held, setup)
        case BedGrip(bed=bed):
            yield from _joint_faults("grip.bed", bed)
        case SlotGrip() as slot:
            yield from _flat_faults(setup.bar, "slot", SLOT_SECTIONS)
            yield from _screw_faults(slot, setup)
            yield from _joint_faults("grip.joint", slot.joint)
        case SleeveGrip() as sleeve:
            yield from _round_faults(setup.bar)
            yield from _block_faults(sleeve, setup)
            yield from _joint_faults("grip.joint", sleeve.joint)
        case CentresGrip() as ends:
            yield from found(choice_fault("grip.held", ends.held, choices=BAR_HOLDS))
            yield from end_faults(ends, diameter_mm=setup.bar.size_mm, units=setup.units)
            yield from _between_faults(setup)


def _between_faults(setup: Setup) -> Faults:
    """Yield the faults of a bar that is held at both ends: its edge at one of them, parts it cannot have."""
    edge, out = setup.edge.end_distance_mm, setup.bar.overhang_mm
    if edge == 0 and out > 0:
        yield InputError(
            key="edge.end_distance",
            given=edge,
            allowed=f"above 0 and below {length_text(out, setup.units)} for a bar held at both ends",
            mend="Measure from the far end, where its centre stands, back to the cutter.",
        )
    for key, there in {
        "wrap": setup.wrap is not None,
        "shim": setup.shim is not None,
        "absorber": setup.absorber is not None,
        "post": setup.post is not None,
        "bar.gripped": setup.bar.gripped_mm > 0,
    }.items():
        if there:
            mend = "Take it out; what holds the ends is told in [grip]."
            allowed = "left out for a bar held at both ends"
            yield InputError(key=key, given=Plain("given"), allowed=allowed, mend=mend)


def _round_faults(bar: Bar) -> Faults:
    """Yield the fault of a bar that does not fill a round bore."""
    if bar.section in SECTIONS and bar.section not in SLEEVE_SECTIONS:
        yield InputError(
            key="grip.style",
            given="sleeve",
            allowed=f"rigid, bed or slot for a {bar.section} bar",
            mend=f"A bored sleeve takes {' or '.join(SLEEVE_SECTIONS)} only; for bedding all round use bed.",
        )


def _flat_faults(bar: Bar, style: str, sections: tuple[str, ...]) -> Faults:
    """Yield the fault of a bar without a flat underside where the grip needs one."""
    if bar.section in SECTIONS and bar.section not in sections:
        yield InputError(
            key="grip.style",
            given=style,
            allowed=f"rigid, bed or sleeve for a {bar.section} bar",
            mend=f"Style {style} needs a flat underside: {', '.join(sections)}.",
        )
    turn = 180 if bar.section == "flatted" else 90
    if bar.section in sections and abs(math.remainder(bar.rotation_deg, turn)) > 1e-9:
        yield InputError(
            key="bar.rotation_deg",
            given=bar.rotation_deg,
            allowed=f"a multiple of {turn} degrees with grip style {style}",
            mend="Turned otherwise, the bar has no flat side on the floor of the holder.",
        )


def _pressed_faults(held: HeldGrip, setup: Setup) -> Faults:
    """Yield the fault of a pressed length outside the grip, or with its ends changed over."""
    if held.pressed_mm is None:
        return
    start, stop = held.pressed_mm
    gripped = setup.bar.gripped_mm
    if start < 0 or start >= stop or stop > gripped + TOUCH_MM > TOUCH_MM or not math.isfinite(start + stop):
        yield InputError(
            key="grip.pressed",
            given=list(held.pressed_mm),
            allowed=f"two rising distances from 0 to the gripped length, {length_text(gripped, setup.units)}",
            mend="Measure both from the holder face into the holder.",
        )


def _screw_faults(slot: SlotGrip, setup: Setup) -> Faults:
    """Yield the faults of the screws: their number, their size, and their place on the gripped shank."""
    units, gripped = setup.units, setup.bar.gripped_mm
    if slot.screws < FEWEST_SCREWS or slot.screws > MOST_SCREWS:
        yield InputError(
            key="grip.screws",
            given=slot.screws,
            allowed=f"from {FEWEST_SCREWS} to {MOST_SCREWS}",
            mend="Count the screws that press on the shank.",
        )
    mend = "Measure the end of the screw that presses."
    yield from found(size_fault("grip.screw_diameter", slot.screw_diameter_mm, units=units, mend=mend))
    width = top_width_mm(setup.bar)
    if slot.screw_diameter_mm > width:
        yield InputError(
            key="grip.screw_diameter",
            given=slot.screw_diameter_mm,
            allowed=f"at most the flat it presses on, {length_text(width, units)}",
            mend=mend,
        )
    if slot.screws > 1 and slot.screw_spacing_mm < slot.screw_diameter_mm:
        yield InputError(
            key="grip.screw_spacing",
            given=slot.screw_spacing_mm,
            allowed=f"at least the screw diameter, {length_text(slot.screw_diameter_mm, units)}",
            mend="Measure from the middle of one screw to the middle of the next.",
        )
    half = slot.screw_diameter_mm / 2
    last = slot.first_screw_mm + (slot.screws - 1) * slot.screw_spacing_mm
    if slot.first_screw_mm < half - TOUCH_MM or last + half > gripped + TOUCH_MM > TOUCH_MM:
        yield InputError(
            key="grip.first_screw",
            given=slot.first_screw_mm,
            allowed=f"such that every screw lies wholly on the gripped {length_text(gripped, units)}",
            mend="Measure from the holder face to the middle of the first screw; the others stand behind it.",
        )


def top_width_mm(bar: Bar) -> float:
    """Return the width of the flat on top of the bar [mm]; NaN where a size is missing."""
    if bar.section == "flatted" and bar.diameter_mm is not None and bar.across_flats_mm is not None:
        return math.sqrt(max(bar.diameter_mm**2 - bar.across_flats_mm**2, 0.0))
    upright = abs(math.remainder(bar.rotation_deg, 180)) < 1
    width = bar.width_mm if upright or bar.section == "square" else bar.height_mm
    return math.nan if width is None else width


def _block_faults(sleeve: SleeveGrip, setup: Setup) -> Faults:
    """Yield the faults of the block round the bar."""
    units, bar = setup.units, setup.bar
    yield from found(
        size_fault("grip.block_width", sleeve.block_width_mm, units=units, mend="Measure across the bar."),
        size_fault(
            "grip.block_height", sleeve.block_height_mm, units=units, mend="Measure from base to top."
        ),
        size_fault("grip.wall", sleeve.wall_mm, units=units, mend="Measure from the base up to the bar."),
    )
    size = largest_size_mm(bar)
    for key, length in (("width", sleeve.block_width_mm), ("height", sleeve.block_height_mm)):
        yield from found(
            beyond_fault(f"grip.block_{key}", length, size_mm=size, times=MOST_BLOCK, units=units)
        )
    if 0 < sleeve.block_width_mm <= size:
        yield InputError(
            key="grip.block_width",
            given=sleeve.block_width_mm,
            allowed=f"above the bar's size, {length_text(size, units)}",
            mend="The block must leave a wall on both sides of the bar.",
        )
    if 0 < sleeve.block_height_mm <= size + sleeve.wall_mm:
        yield InputError(
            key="grip.block_height",
            given=sleeve.block_height_mm,
            allowed=f"above wall and bar together, {length_text(size + sleeve.wall_mm, units)}",
            mend="The block must leave a wall above the bar.",
        )


def _joint_faults(prefix: str, joint: Joint) -> Faults:
    """Yield the faults of a bed or a joint; a bonded one has no numbers to check."""
    if joint.bonded:
        return
    stiffness, shear = joint.normal_n_per_um_mm2.likely, joint.shear_ratio.likely
    if not 0 < stiffness <= MOST_STIFF:
        yield InputError(
            key=f"{prefix}_n_per_um_mm2",
            given=stiffness,
            allowed=f"above 0 and at most {MOST_STIFF:.0f} N/µm per mm²",
            mend="Dry machined faces have 0.3 to 10; leave it out for the usual band.",
        )
    if not 0 < shear <= 10:
        yield InputError(
            key=f"{prefix}_shear_ratio",
            given=shear,
            allowed="above 0 and at most 10",
            mend="It is shear over normal stiffness; dry faces have 0.3 to 0.8.",
        )
    yield from found(loss_fault(f"{prefix}_loss_factor", joint.loss_factor.likely))
