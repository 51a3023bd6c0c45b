"""Parameters that several commands share, so that each reads and is explained the same everywhere."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Final

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
PlotTarget = Annotated[Path | None, Parameter(help="File for the picture: .svg, .png or .pdf.")]
MoreOption = Annotated[
    bool,
    Parameter(
        name=("--more", "--verbose"),
        negative="",
        help="Everything else after the one screen: all numbers, what was assumed, sources, checklist.",
    ),
]


@Parameter(name="*")
@dataclass(frozen=True)
class Asked:
    """What a command that answers on one set-up, with numbers and a picture, can be asked for beside it.

    Attributes
    ----------
    changes
        Changes of the set-up's keys for this run.
    json
        File for the result; - for standard output, in place of the answer.
    plot
        File for the picture.
    more
        Say everything.
    """

    changes: Changes = ()
    json: JsonTarget = None
    plot: PlotTarget = None
    more: MoreOption = False


NOTHING_MORE: Final = Asked()
