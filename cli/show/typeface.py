"""The one typeface of every picture: where it is, and what it has no shape for."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

import matplotlib as mpl
from matplotlib.ft2font import FT2Font

SUBSTITUTE: Final = "\N{WHITE SQUARE}"  # stands openly for a letter that the typeface does not have


def typeface(*, bold: bool = False) -> Path:
    """Return the file of the typeface that comes with matplotlib, so that every machine has it."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(mpl.get_data_path()) / "fonts" / "ttf" / name


def drawable(text: str) -> str:
    """Return a text with an open square for each letter that the typeface has no shape for.

    Parameters
    ----------
    text
        Words for a picture; line breaks are kept.

    Examples
    --------
    >>> drawable("16 mm \u00f8, \u4e2d")
    '16 mm \u00f8, \u25a1'
    """
    known = _letters()
    return "".join(one if ord(one) in known or one == "\n" else SUBSTITUTE for one in text)


@cache
def _letters() -> frozenset[int]:
    """Return the letters that both weights of the typeface have shapes for."""
    upright, bold = (FT2Font(str(typeface(bold=one))).get_charmap() for one in (False, True))
    return frozenset(upright) & frozenset(bold)
