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

from fem.errors import InputError
from fem.nearest import MISSING, hint

Faults = Iterator[InputError]
TOUCH_MM: Final = 1e-6  # two lengths closer than this are the same place: rounding of inches


def size_fault(key: str, value_mm: float | None, *, units: str, mend: str) -> InputError | None:
    """Return the fault of a size that is missing, not finite, zero or negative; None where it is sound."""
    if value_mm is None:
        return InputError(key=key, given=MISSING, allowed=f"a length above 0 {units}", mend=mend)
    if value_mm <= 0 or not math.isfinite(value_mm):
        return InputError(key=key, given=value_mm, allowed=f"above 0 {units}", mend=mend)
    return None


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
