"""Parameters that several commands share, so that each reads and is explained the same everywhere."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter, Token


def whole_number(_: type, tokens: Sequence[Token]) -> int:
    """Return the whole number that an option was given; "2.5" is none and is not cut to 2.

    Raises
    ------
    ValueError
        It is no whole number.
    """
    text = tokens[0].value.strip()
    if not re.fullmatch(r"[+-]?[0-9]{1,18}", text):
        raise ValueError(f"{text[:40]!r} is no whole number.")
    return int(text)


def pixels(_: type, tokens: Sequence[Token]) -> tuple[int, int]:
    """Return width and height as ``1920x1080`` gives them.

    Raises
    ------
    ValueError
        It is no such pair, or one that no film can have: even numbers, 320 x 180 to 3840 x 2160.
    """
    text = tokens[0].value.strip().lower().replace("×", "x")
    found = re.fullmatch(r"([0-9]{1,5}) ?x ?([0-9]{1,5})", text)
    width, height = (int(found[1]), int(found[2])) if found else (0, 0)
    if width % 2 or height % 2 or not (320 <= width <= 3840 and 180 <= height <= 2160):
        raise ValueError(f"{text[:40]!r} is no size: two even numbers as in 1920x1080, 320x180 to 3840x2160.")
    return width, height


SetupFile = Annotated[Path, Parameter(help="The set-up file (TOML).")]
Changes = Annotated[
    tuple[str, ...],
    Parameter(name="--set", negative="", help="Change one key for this run: --set bar.overhang=100."),
]
JsonTarget = Annotated[
    str | None,
    Parameter(
        allow_leading_hyphen=True, help="File for the result as JSON, SI throughout; - for standard output."
    ),
]
MoreOption = Annotated[
    bool,
    Parameter(
        name=("--more", "--verbose"),
        negative="",
        help="Everything else after the one screen: all numbers, what was assumed, sources, checklist.",
    ),
]
