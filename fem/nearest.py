"""The nearest name we know to one we do not: one rule for keys, materials and choices."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import lru_cache
from typing import Final, TypeVar

V = TypeVar("V")
# Spellings that are kept: every name of the tables is folded again with each name that is looked up.
_KEPT: Final = 2048
# Families of standard numbers that people write before the number.
_FAMILY: Final = re.compile(r"^(?:aisi|sae|astm|bs|din|iso|grade|type|werkstoff)(?: 970)? ?(?=\S)")


class Plain(str):
    """A word that an error shows without quotes, such as "missing" where no value came."""

    __slots__ = ()

    def __repr__(self) -> str:
        """Return the bare word."""
        return str(self)


MISSING = Plain("missing")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that holds ``name`` as a word, else the one most like it, or None."""
    by_folded = {folded(one): one for one in known}
    inside = [one for short, one in by_folded.items() if f" {folded(name)} " in f" {short} "]
    if inside:
        return inside[0]
    found = get_close_matches(folded(name), by_folded, n=1, cutoff=0.6)
    return by_folded[found[0]] if found else None


def hint(name: str, known: Iterable[str], *, otherwise: str = "") -> str:
    """Return "Did you mean ...?" for the nearest known name, or ``otherwise``."""
    found = nearest(name, known)
    return f"Did you mean {found!r}?" if found else otherwise


def looked_up(name: str, known: Mapping[str, V]) -> V | None:
    """Return what stands under a name, in any spelling: case, blanks, hyphens, a family before a number.

    Parameters
    ----------
    name
        The name as it was written: "EN 8", "AISI 4140", "Silver-Steel".
    known
        What stands under each name.

    Examples
    --------
    >>> looked_up("AISI 4140", {"4140": 1}), looked_up("en 8", {"EN8": 2}), looked_up("EN", {"EN8": 2})
    (1, 2, None)
    """
    closed = {_closed(one): value for one, value in known.items()}
    bare = _FAMILY.sub("", folded(name))
    return closed.get(_closed(name), closed.get(_closed(bare)))


def listed(names: str) -> tuple[str, ...]:
    """Return names that are written one after the other, with commas between."""
    return tuple(one.strip() for one in names.split(","))


@lru_cache(maxsize=_KEPT)
def _closed(name: str) -> str:
    """Return a name without case, blanks, hyphens and underlines."""
    return folded(name).replace(" ", "")


@lru_cache(maxsize=_KEPT)
def folded(name: str) -> str:
    """Return a name without case, hyphens and underlines, so that "Silver-Steel" is "silver steel"."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())
