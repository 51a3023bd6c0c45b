"""Range checks that several parts share: a size, a choice, a loss factor.

Checks return or yield one InputError per fault; keys are those of the set-up file. Conditions are
written so that a NaN is a fault of its own key only: where two values are compared, NaN stays silent,
because the reader, or the check of the other value, has spoken of it. For the same reason a value is
compared with a length only where that length is above zero itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, hint
from stickout.fem.units import length_text

Faults = Iterator[InputError]
MOST_MM: Final = 1e5  # no lathe tool is longer or thicker than 100 m: a unit was mistaken
TOUCH_MM: Final = 1e-6  # two lengths closer than this are the same place: rounding of inches


def size_fault(key: str, value_mm: float | None, *, units: str, mend: str) -> InputError | None:
    """Return the fault of a size that is missing, not finite, zero or negative; None where it is sound."""
    if value_mm is None:
        return InputError(key=key, given=MISSING, allowed=f"a length above 0 {units}", mend=mend)
    if value_mm <= 0 or not math.isfinite(value_mm):
        return InputError(key=key, given=value_mm, allowed=f"above 0 {units}", mend=mend)
    if value_mm > MOST_MM:
        mend = "Check the number and its unit."
        return InputError(key=key, given=value_mm, allowed=f"at most {MOST_MM / 1e3:.0f} m", mend=mend)
    return None


def beyond_fault(key: str, value_mm: float, *, size_mm: float, times: int, units: str) -> InputError | None:
    """Return the fault of a length that is out of all measure beside the bar's size; None where it is not.

    Parameters
    ----------
    key
        Key of the length.
    value_mm, size_mm
        The length, and the size of the bar; NaN where that is not known, and then nothing is said [mm].
    times
        How many sizes are allowed.
    units
        Units of the set-up.
    """
    most = times * size_mm
    if not (math.isfinite(value_mm) and value_mm > most > 0):
        return None
    allowed = f"at most {times} times the bar's size, {length_text(most, units)}"
    return InputError(key=key, given=value_mm, allowed=allowed, mend="Check the number and its unit.")


def choice_fault(key: str, value: str, *, choices: tuple[str, ...]) -> InputError | None:
    """Return the fault of a word that is not among the choices; None where it is."""
    if value in choices:
        return None
    allowed = "one of " + ", ".join(choices)
    return InputError(
        key=key, given=value, allowed=allowed, mend=hint(value, choices, otherwise="Choose one of these.")
    )


def found(*faults: InputError | None) -> Faults:
    """Yield those of the faults that are there."""
    yield from (fault for fault in faults if fault is not None)


def loss_fault(key: str, value: float) -> InputError | None:
    """Return the fault of a loss factor outside 0 to 2."""
    if not 0 <= value <= 2:
        mend = "The loss factor is twice the damping ratio; bare metal has 0.0001 to 0.01."
        return InputError(key=key, given=value, allowed="from 0 to 2", mend=mend)
    return None
