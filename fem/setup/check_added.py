"""Range checks of what is added to a bar, the shim and the wrap: one InputError per fault."""

from __future__ import annotations

import math
from typing import Final

from stickout.fem.errors import InputError
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
from stickout.fem.setup.parts import BONDS, Setup, Turns
from stickout.fem.units import length_text
from stickout.meshes.parts import SECTIONS, Wrap

MOST_THICK: Final = 5  # thickness over the bar's size: beyond it a unit was mistaken
ROUND_OUTSIDE: Final = ("round", "tube")


def shim_faults(setup: Setup) -> Faults:
    """Yield the faults of the shim, and of a shim where the grip has no floor to lay it on."""
    if setup.shim is None:
        return
    mend = "Measure the sheet."
    thickness, size = setup.shim.thickness_mm, largest_size_mm(setup.bar)
    yield from found(
        size_fault("shim.thickness", thickness, units=setup.units, mend=mend),
        beyond_fault("shim.thickness", thickness, size_mm=size, times=MOST_THICK, units=setup.units),
    )
    if not setup.grip.on_floor:
        yield InputError(
            key="shim",
            given=f"a shim with grip style {setup.grip.style}",
            allowed="left out, or used with style held or slot",
            mend="A shim lies on the floor of a holder; choose one of these styles or take it out.",
        )


def wrap_faults(setup: Setup) -> Faults:
    """Yield the faults of the wrap: its place, its bond, and the bar it goes round."""
    wrap, bar, units = setup.wrap, setup.bar, setup.units
    if wrap is None:
        return
    yield from found(
        choice_fault("wrap.bond", wrap.bond, choices=BONDS),
        size_fault(
            "wrap.thickness", wrap.thickness_mm, units=units, mend="Give the depth of metal on the bar."
        ),
        beyond_fault(
            "wrap.thickness",
            wrap.thickness_mm,
            size_mm=largest_size_mm(bar),
            times=MOST_THICK,
            units=units,
        ),
        size_fault("wrap.length", wrap.length_mm, units=units, mend="Measure along the bar."),
    )
    if wrap.start_mm < 0 or not math.isfinite(wrap.start_mm):
        yield InputError(
            key="wrap.start",
            given=wrap.start_mm,
            allowed=f"at or above 0 {units}",
            mend="A wrap cannot lie under the holder; measure from the holder face toward the free end.",
        )
    elif wrap.start_mm >= bar.overhang_mm > 0:
        yield InputError(
            key="wrap.start",
            given=wrap.start_mm,
            allowed=f"below the overhang, {length_text(bar.overhang_mm, units)}",
            mend="Measure from the holder face to where the wrap begins.",
        )
    elif wrap.start_mm + wrap.length_mm > bar.overhang_mm + TOUCH_MM > TOUCH_MM:
        room = length_text(bar.overhang_mm - wrap.start_mm, units)
        yield InputError(
            key="wrap.length",
            given=wrap.length_mm,
            allowed=f"at most {room}, from its start to the free end",
            mend="Shorten the wrap or start it nearer the holder.",
        )
    yield from _turns_faults(wrap, setup.turns or Turns(), units)
    if bar.section in SECTIONS and bar.section not in ROUND_OUTSIDE:
        yield InputError(
            key="wrap",
            given=f"a wrap round a {bar.section} bar",
            allowed="left out, or used on a round or tube bar",
            mend="Possible instead: a thicker bar, a shim under the shank, or its mass as edge.mass_g.",
        )


def _turns_faults(wrap: Wrap, turns: Turns, units: str) -> Faults:
    """Yield the faults of the wire and of its rubbing."""
    given = {
        "wire_diameter": turns.wire_diameter_mm,
        "pitch": turns.pitch_mm,
        "rubbing_loss_factor": turns.rubbing_loss_factor,
    }
    for name, value in given.items():
        if value is not None and wrap.bond == "bonded":
            yield InputError(
                key=f"wrap.{name}",
                given=value,
                allowed="left out for a bonded wrap",
                mend='It belongs to bond = "loose"; a bonded wrap is a solid layer of the given thickness.',
            )
    wire, pitch, loss = given.values()
    if wire is not None:
        yield from found(size_fault("wrap.wire_diameter", wire, units=units, mend="Measure the wire."))
    if pitch is not None and (wire is None or pitch < wire - TOUCH_MM):
        least = (
            "given with wire_diameter" if wire is None else f"at least the wire's {length_text(wire, units)}"
        )
        yield InputError(key="wrap.pitch", given=pitch, allowed=least, mend="Measure from turn to turn.")
    if loss is not None:
        yield from found(loss_fault("wrap.rubbing_loss_factor", loss))
