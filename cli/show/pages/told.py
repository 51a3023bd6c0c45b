"""What a printed page tells of, and the plain answer at its top."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stickout.fem.study.result import Result

if TYPE_CHECKING:
    from stickout.fem.cut.answer import CutAnswer


@dataclass(frozen=True)
class Told:
    """What a report tells of.

    Attributes
    ----------
    result
        The modes.
    answer
        The cut; None where the set-up has none or does not describe it far enough.
    no_cut
        Why there is no answer on the cut, one or two sentences; empty where there is one.
    """

    result: Result
    answer: CutAnswer | None = None
    no_cut: str = ""


def plain_answer(text: str) -> str:
    """Return the opening sentences of an answer as one line: its second block; the first names the set-up."""
    return " ".join(text.split("\n\n")[1].split())
