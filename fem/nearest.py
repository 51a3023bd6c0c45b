"""The nearest name we know to one we do not: one rule for keys, materials and choices."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


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


def folded(name: str) -> str:
    """Return a name without case, hyphens and underlines, so that "Silver-Steel" is "silver steel"."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())
