"""The command ``new``: a set-up by question and answer in the terminal, and its answer at once."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from stickout.cli.asking.conversation import EndOfAnswersError, converse
from stickout.cli.asking.questions import questions
from stickout.cli.asking.written import file_of, free_path, name_of
from stickout.cli.outputs import check_target, writing
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain


def new(
    out: Annotated[
        Path | None, Parameter(help="The file to be (.toml); without it a name from the tool.")
    ] = None,
    /,
) -> None:
    """Make a set-up by question and answer, save it, and answer at once whether the cut stays quiet.

    Parameters
    ----------
    out
        The file to be; one that exists is kept, and the next free name is taken.
    """
    if out is not None:
        if out.suffix.lower() != ".toml":
            mend = "End it in .toml."
            raise InputError(key="FILE", given=str(out), allowed="a file that ends in .toml", mend=mend)
        check_target(out, key="FILE")
    _say("Enter takes the answer in brackets, ? explains, b goes back, Ctrl-C writes nothing.\n\n")
    try:
        known = converse(questions(), _typed(), say=_say)
    except EndOfAnswersError:
        _say("\n")
        mend = "Answer each question, or take its usual answer with Enter. Nothing was written."
        allowed = "an answer to every question"
        raise InputError(
            key="what was typed", given=Plain("at its end"), allowed=allowed, mend=mend
        ) from None
    text, usual = file_of(known)
    wanted = Path(name_of(known)) if out is None else out
    path = free_path(wanted)
    with writing(path, key="FILE") as part:
        part.write_text(text, encoding="utf-8")
    _say("\n")
    from stickout.cli.commands.cut import cut  # imports much; the questions come first

    cut(path)
    kept = f"{wanted} is kept; saved as {path}." if path != wanted else f"Saved: {path}."
    _say(f"\n{kept} {usual} numbers were not asked: their usual values stand in it, each behind a #.\n")


def _typed() -> Iterator[str]:
    """Yield what is typed; where it comes from a file or a pipe it is shown, as a terminal shows it."""
    for line in iter(sys.stdin.readline, ""):
        if not sys.stdin.isatty():
            _say(line if line.endswith("\n") else f"{line}\n")
        yield line


def _say(words: str) -> None:
    """Show words at once, with or without a line end."""
    sys.stdout.write(words)
    sys.stdout.flush()
