"""Range checks of an absorber: one InputError per fault, keys of the set-up file."""

from __future__ import annotations

import math
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.setup.check_common import TOUCH_MM, Faults, choice_fault, found
from stickout.fem.setup.parts import ABSORBER_MOVES, Setup
from stickout.fem.units import length_text

# Far outside what a bar can carry: a slip of units, not a slug.
HEAVIEST_G: Final = 50_000.0
HIGHEST_HZ: Final = 50_000.0
DAMPED: Final = (0.001, 5.0)


def absorber_faults(setup: Setup) -> Faults:
    """Yield the faults of the absorber: its three numbers, its place, the way it moves."""
    one = setup.absorber
    if one is None:
        return
    yield from found(
        _range_fault(
            "mass_g",
            one.mass_g,
            top=HEAVIEST_G,
            unit="grams",
            mend="Weigh the slug or ring that moves; for none leave the section out.",
        ),
        _range_fault(
            "frequency_hz",
            one.frequency_hz,
            top=HIGHEST_HZ,
            unit="Hz",
            mend="Give its own note, tapped while the bar is held still.",
        ),
        _damping_fault(one.damping_ratio),
    )
    yield from _place_faults(setup)
    yield from found(choice_fault("absorber.direction", one.direction, choices=ABSORBER_MOVES))


def _range_fault(name: str, value: float, *, top: float, unit: str, mend: str) -> InputError | None:
    """Return the fault of a number that is not above zero and below a top."""
    if 0 < value <= top:
        return None
    return InputError(
        key=f"absorber.{name}", given=value, allowed=f"above 0 and up to {top:g} {unit}", mend=mend
    )


def _damping_fault(value: float) -> InputError | None:
    """Return the fault of a damping ratio that no ring has."""
    if DAMPED[0] <= value <= DAMPED[1]:
        return None
    return InputError(
        key="absorber.damping_ratio",
        given=value,
        allowed=f"from {DAMPED[0]:g} to {DAMPED[1]:g}",
        mend="A share of critical, not per cent: half the loss factor of the rings, 0.05 to 0.4 as a rule.",
    )


def _place_faults(setup: Setup) -> Faults:
    """Yield the fault of a place that is not on the bar outside the holder."""
    at, overhang = setup.absorber.position_mm if setup.absorber else 0.0, setup.bar.overhang_mm
    if at > 0 and math.isfinite(at) and (at <= overhang + TOUCH_MM or not overhang > 0):
        return
    yield InputError(
        key="absorber.position",
        given=at,
        allowed=f"above 0 and up to the overhang, {length_text(overhang, setup.units)}",
        mend="Measure from the holder face toward the free end, to the middle of the absorber.",
    )
