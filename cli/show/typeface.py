"""The one typeface of every picture: where it is, and what it has no shape for."""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from typing import Final

# Letters that the typeface has for sure: only others are looked up, since that takes long to import.
SURE: Final = frozenset(map(chr, (0x0A, *range(0x20, 0x7F), *range(0xA0, 0x100), 0x2009, 0x2013, 0x2026)))
SUBSTITUTE: Final = "\N{WHITE SQUARE}"  # stands openly for a letter that the typeface does not have


def typeface(*, bold: bool = False) -> Path:
    """Return the file of the typeface that comes with matplotlib, so that every machine has it."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return _folder() / name


@cache
def _folder() -> Path:
    """Return the folder of the typeface; the package is asked only where it keeps it elsewhere."""
    found = importlib.util.find_spec("matplotlib")
    for place in (found.submodule_search_locations or []) if found is not None else []:
        usual = Path(place) / "mpl-data" / "fonts" / "ttf"
        if usual.is_dir():
            return usual
    import matplotlib as mpl  # here: it takes long to import

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


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
    if SURE.issuperset(text):
        return text
    known = letters()
    return "".join(one if ord(one) in known or one == "\n" else SUBSTITUTE for one in text)


@cache
def letters() -> frozenset[int]:
    """Return the letters that both weights of the typeface have shapes for."""
    from matplotlib.ft2font import FT2Font  # here: it takes long to import

    upright, bold = (FT2Font(str(typeface(bold=one))).get_charmap() for one in (False, True))
    return frozenset(upright) & frozenset(bold)
