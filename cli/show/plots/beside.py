"""Whether tool and part can be drawn moving together; asked before anything that draws is imported."""

from __future__ import annotations

from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.setup.parts import Setup

_OUTSIDE: Final = ("turning", "facing", "parting")


def check_together(setup: Setup) -> None:
    """Check that there is something to move together.

    Raises
    ------
    InputError
        The set-up has neither part nor post, or its cut is no cut on the outside of a part.
    """
    if setup.work is None and setup.post is None:
        mend = "Describe the part in [work], or what carries the holder in [post]."
        raise InputError(key="--together", given="a tool alone", allowed="with [work] or [post]", mend=mend)
    operation = None if setup.cut is None else setup.cut.operation
    if operation not in _OUTSIDE:
        mend = "Leave --together out; --limiting shows the bar."
        allowed = "with turning, facing or parting"
        raise InputError(key="--together", given=operation or "no cut", allowed=allowed, mend=mend)
