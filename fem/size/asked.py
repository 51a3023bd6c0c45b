"""What the user asks of ``size`` beside the ranking."""

from __future__ import annotations

from dataclasses import dataclass

from stickout.fem.errors import InputError
from stickout.fem.size.job import SizeJob


@dataclass(frozen=True)
class Asked:
    """What the user wants beside the ranking; None where nothing was said.

    Attributes
    ----------
    spring_off_mm
        Wanted deflection of the edge: under the cut's force, or under 10 N where no cut is given.
    wanted_depth_mm
        Depth of cut that must stay quiet; needs a cut.
    cutter_hole_mm
        Diameter of the hole for the cutter.
    hole_from_end_mm
        From the free end to the middle of that hole.
    """

    spring_off_mm: float | None = None
    wanted_depth_mm: float | None = None
    cutter_hole_mm: float | None = None
    hole_from_end_mm: float | None = None


def check_asked(job: SizeJob, asked: Asked) -> None:
    """Check what is asked beside the ranking.

    Raises
    ------
    InputError
        A length is not above zero, or a depth is wanted without a cut.
    """
    for key, value in vars(asked).items():
        if value is not None and not value > 0:
            mend = "Give what you want, or leave it out."
            raise InputError(key=key.removesuffix("_mm"), given=value, allowed="above 0", mend=mend)
    if asked.wanted_depth_mm is not None and job.cut is None:
        mend = "Add --cut with a set-up file."
        given, allowed = asked.wanted_depth_mm, "left out where no cut is given"
        raise InputError(key="wanted_depth", given=given, allowed=allowed, mend=mend)
