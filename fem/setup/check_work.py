"""Range checks of the work piece, what holds it, and what carries the tool: one InputError per fault."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.setup.check_common import Faults, choice_fault, found, size_fault
from stickout.fem.setup.check_ends import end_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import WORK_FORMS, WORK_HOLDS, Work
from stickout.fem.units import MM, length_text

# A steady's finger is some 5 mm wide: nearer to the edge than half of that it is in its way.
STEADY_CLEAR_MM: Final = 2.5
# Beyond this rim speed small cast-iron chucks are not used (common practice, no source): 3000 rpm on 160 mm.
SAFE_RIM_M_PER_S: Final = 25.0


def work_faults(setup: Setup) -> Faults:
    """Yield the faults of the work piece."""
    work, units = setup.work, setup.units
    if work is None:
        return
    reach = "Measure from the chuck or centre to the free end."
    yield from found(
        size_fault("work.diameter", work.diameter_mm, units=units, mend="Measure the work."),
        size_fault("work.length", work.length_mm, units=units, mend=reach),
        choice_fault("work.held", work.held, choices=WORK_HOLDS),
    )
    if work.bore_mm is not None:
        yield from found(
            size_fault("work.bore", work.bore_mm, units=units, mend="Leave it out for solid work.")
        )
        yield from _bore_fault("work.bore", work.bore_mm, diameter=work.diameter_mm, units=units)
    outside = [one for one in work.places_mm if not one > 0 or one > work.length_mm > 0]
    if outside:
        yield InputError(
            key="work.cut_at",
            given=outside[0],
            allowed=f"above 0 and at most the length, {length_text(work.length_mm, units)}",
            mend="Measure from the chuck or the headstock centre to the cut.",
        )
    yield from _form_faults(work, units)
    yield from _step_faults(work, units)
    yield from _steady_faults(work, units)
    yield from end_faults(work, diameter_mm=work.diameter_mm, units=units)
    yield from _plug_faults(work)


def _form_faults(work: Work, units: str) -> Faults:
    """Yield the faults of a part that is not round: an unknown form, sizes it lacks or does not have."""
    yield from found(choice_fault("work.form", work.form, choices=WORK_FORMS))
    if work.form != "round" and (work.bore_mm or work.steps):
        mend = "Describe the length that is not round, without its bore and steps."
        yield InputError(
            key="work.form", given=work.form, allowed="round for a bored or stepped part", mend=mend
        )
    half = work.diameter_mm / 2
    sizes = {
        "across_flats": ("flats", work.across_flats_mm, 2 * half),
        "keyway_width": ("keyway", work.keyway_width_mm, half),
        "keyway_depth": ("keyway", work.keyway_depth_mm, half),
    }
    for name, (form, value, most) in sizes.items():
        if work.form == form and not 0 < (value or 0.0) < most:
            allowed = f"above 0 and below {length_text(most, units)} for form {form}"
            given = MISSING if value is None else value
            yield InputError(key=f"work.{name}", given=given, allowed=allowed, mend="Measure the work.")
        elif work.form != form and value is not None:
            allowed = f"left out for form {work.form}"
            mend = f"It belongs to form {form}."
            yield InputError(key=f"work.{name}", given=value, allowed=allowed, mend=mend)


def sections(work: Work) -> list[tuple[float, float, float, float]]:
    """Return the pieces of the part, (start, stop, diameter, bore) [mm], headstock first; bore 0: solid."""
    diameter, bore = work.diameter_mm, work.bore_mm or 0.0
    starts = [0.0]
    sizes = [(diameter, bore)]
    for step in work.steps:
        diameter = diameter if step.diameter_mm is None else step.diameter_mm
        bore = bore if step.bore_mm is None else step.bore_mm
        starts.append(step.start_mm)
        sizes.append((diameter, bore))
    stops = [*starts[1:], work.length_mm]
    return [(a, b, *size) for a, b, size in zip(starts, stops, sizes, strict=True)]


def _bore_fault(key: str, bore: float, *, diameter: float, units: str) -> Faults:
    """Yield the fault of a bore that is not inside the part."""
    if bore >= diameter > 0:
        allowed = f"below the diameter, {length_text(diameter, units)}"
        yield InputError(key=key, given=bore, allowed=allowed, mend="The bore must leave a wall.")


def _step_faults(work: Work, units: str) -> Faults:
    """Yield the faults of the steps: out of order or of the part, no size, a bore too wide."""
    for number, (step, piece) in enumerate(zip(work.steps, sections(work)[1:], strict=True), start=1):
        key, before = f"work.steps.{number}", work.steps[number - 2].start_mm if number > 1 else 0.0
        if not before < step.start_mm or not (step.start_mm < work.length_mm or math.isnan(work.length_mm)):
            yield InputError(
                key=f"{key}.start",
                given=step.start_mm,
                allowed=f"above {length_text(before, units)} and below the length of the work, "
                f"{length_text(work.length_mm, units)}",
                mend="List the steps in order, each from where its size begins.",
            )
        if step.diameter_mm is None and step.bore_mm is None:
            mend = "Say which of the two changes here, or take the step out."
            yield InputError(key=key, given="no size", allowed="a diameter or a bore", mend=mend)
        if step.diameter_mm is not None:
            mend = "Measure the work."
            yield from found(size_fault(f"{key}.diameter", step.diameter_mm, units=units, mend=mend))
        if step.bore_mm is not None and not step.bore_mm >= 0:
            mend = "Write 0 where it is solid."
            yield InputError(key=f"{key}.bore", given=step.bore_mm, allowed="0 or above", mend=mend)
        yield from _bore_fault(f"{key}.bore", piece[3], diameter=piece[2], units=units)


def _steady_faults(work: Work, units: str) -> Faults:
    """Yield the faults of the steadies: outside the work, or where the edge is."""
    for number, steady in enumerate(work.steadies, start=1):
        key = f"work.steadies.{number}.at"
        if not steady.at_mm > 0 or steady.at_mm > work.length_mm > 0:
            yield InputError(
                key=key,
                given=steady.at_mm,
                allowed=f"above 0 and at most the length of the work, {length_text(work.length_mm, units)}",
                mend="Measure from the chuck or the headstock centre to the fingers.",
            )
            continue
        _, near = min((abs(steady.at_mm - one), one) for one in work.places_mm)
        if abs(steady.at_mm - near) < STEADY_CLEAR_MM:
            clear = length_text(STEADY_CLEAR_MM, units)
            yield InputError(
                key=key,
                given=steady.at_mm,
                allowed=f"at least {clear} from the cut at {length_text(near, units)}",
                mend="Its fingers are in the way of the edge there: move the steady or the cut.",
            )
    if work.steady_n_per_um is not None and not work.steadies:
        mend = "Add [[work.steadies]] with at, or take it out."
        given = work.steady_n_per_um
        yield InputError(
            key="work.steady_n_per_um", given=given, allowed="left out without a steady", mend=mend
        )


def _plug_faults(work: Work) -> Faults:
    """Yield the fault of a centre that would stand in an open tube."""
    if work.held == "chuck" or work.held not in WORK_HOLDS:
        return
    pieces = sections(work)
    ends = pieces[-1:] if work.held == "chuck and centre" else [pieces[0], pieces[-1]]
    if any(piece[3] > 0 for piece in ends):
        yield InputError(
            key="work.held",
            given=work.held,
            allowed="a solid end where a centre stands",
            mend="Drive in a plug with a centre hole and describe it, [[work.steps]] with its start and "
            "bore = 0; or hold the tube in the chuck.",
        )


def post_faults(setup: Setup) -> Faults:
    """Yield the faults of what carries the holder."""
    post = setup.post
    if post is None:
        return
    springs = post.spring_n_per_um
    if springs is not None and not all(one > 0 for one in springs):
        mend = "Leave it out where you have not measured it."
        given = list(springs)
        yield InputError(key="post.n_per_um", given=given, allowed="above 0 along x, y and z", mend=mend)
    tilt, mass = post.tilt_nm_per_rad, post.mass_kg
    if tilt is not None and not tilt > 0:
        mend = "Leave it out where you have not measured it."
        yield InputError(key="post.tilt_nm_per_rad", given=tilt, allowed="above 0", mend=mend)
    if mass is not None and not 0.01 <= mass <= 1000:
        mend = "Weigh the holder and what rides with it."
        yield InputError(key="post.mass_kg", given=mass, allowed="from 0.01 to 1000 kg", mend=mend)
    loss = post.loss_factor
    if loss is not None and not 0 < loss < 1:
        mend = "Give twice its damping ratio, or leave it out."
        yield InputError(key="post.loss_factor", given=loss, allowed="above 0 and below 1", mend=mend)


def rim_warnings(setup: Setup) -> Iterator[str]:
    """Yield the caution of a rim that turns faster than a small chuck should."""
    if setup.work is None or setup.cut is None or not setup.cut.speeds_rpm:
        return
    widest, fastest = max(piece[2] for piece in sections(setup.work)), max(setup.cut.speeds_rpm)
    speed = math.pi * widest * MM * fastest / 60
    if speed > SAFE_RIM_M_PER_S:
        yield (
            f"The rim of the work runs at {speed:.0f} m/s at {fastest:.0f} rpm; beyond "
            f"{SAFE_RIM_M_PER_S:.0f} m/s small chucks lose their grip and cast iron may burst."
        )
