"""Set-ups that are alike but for one thing, and their answers as a family."""

from __future__ import annotations

from collections.abc import Sequence

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.sweep.case_answer import CaseAnswer


def setup_of(text: str, *changes: str) -> Setup:
    """Return the set-up of a text, with changes as on the command line."""
    return parse_setup(text, changes=changes).setup


def lengths(text: str, *values: float, changes: Sequence[str] = ()) -> list[Setup]:
    """Return set-ups that differ by their overhang [mm]."""
    return [setup_of(text, f"bar.overhang={value}", *changes) for value in values]


def answered(found: Sequence[CaseAnswer | None]) -> list[CaseAnswer]:
    """Return the answers; none may be left to be solved alone."""
    assert None not in found
    return [one for one in found if one is not None]
