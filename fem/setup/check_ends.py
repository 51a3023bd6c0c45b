"""Range checks of what holds the ends of a part, or of a bar held at both: one InputError per fault."""

from __future__ import annotations

from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.check_common import Faults
from stickout.fem.setup.work_parts import WORK_HOLDS, Work
from stickout.fem.units import length_text

# Jaws that grip less than this hold by a thread's worth: common practice, no source.
LEAST_JAW_MM: Final = 3.0
LEAST_JAW_RATIO: Final = 0.1
_CENTRES: Final = ("chuck and centre", "between centres")
# Keys that only some ways of holding have.
_ONLY: Final = {
    "jaw_length_mm": ("chuck", "chuck and centre"),
    "chuck_tilt_nm_per_rad": ("chuck", "chuck and centre"),
    "quill_out_mm": _CENTRES,
    "centre_n_per_um": _CENTRES,
}
_SPRINGS: Final = ("chuck_n_per_um", "chuck_tilt_nm_per_rad", "centre_n_per_um", "steady_n_per_um")


def end_faults(ends: Work | CentresGrip, *, diameter_mm: float, units: str) -> Faults:
    """Yield the faults of the springs, jaws and quill that hold a part or a bar.

    Parameters
    ----------
    ends
        The part, or the grip of a bar that is held at both ends.
    diameter_mm
        What the jaws hold [mm].
    units
        Of the set-up.
    """
    where, what = ("work", "work") if isinstance(ends, Work) else ("grip", "a bar")
    for name in _SPRINGS:
        value = getattr(ends, name, None)
        if value is not None and not value > 0:
            mend = "Leave it out where you have not measured it."
            yield InputError(key=f"{where}.{name}", given=value, allowed="above 0", mend=mend)
    for name, holds in _ONLY.items():
        value = getattr(ends, name)
        if value is not None and ends.held in WORK_HOLDS and ends.held not in holds:
            key = f"{where}.{name.removesuffix('_mm')}"
            mend = f"It belongs to {what} held by {' or '.join(holds)}."
            allowed = f"left out for {what} held by {ends.held}"
            yield InputError(key=key, given=value, allowed=allowed, mend=mend)
    yield from _jaw_faults(ends.jaw_length_mm, f"{where}.jaw_length", diameter_mm=diameter_mm, units=units)
    if ends.quill_out_mm is not None and not 0 <= ends.quill_out_mm <= 500:
        allowed = f"from 0 to {length_text(500, units)}"
        mend = "Measure what the quill sticks out of the tailstock."
        yield InputError(key=f"{where}.quill_out", given=ends.quill_out_mm, allowed=allowed, mend=mend)


def _jaw_faults(jaw: float | None, key: str, *, diameter_mm: float, units: str) -> Faults:
    """Yield the fault of jaws that grip next to nothing."""
    least = max(LEAST_JAW_MM, LEAST_JAW_RATIO * diameter_mm if diameter_mm > 0 else 0.0)
    if jaw is not None and not jaw >= least:
        yield InputError(
            key=key,
            given=jaw,
            allowed=f"at least {length_text(least, units)} (a tenth of the diameter, and "
            f"{length_text(LEAST_JAW_MM, units)})",
            mend="A thread's worth of grip lets go: hold more of the part, or support its other end.",
        )
