"""Write changed tables back into the text they came from: the user's comments, order and spelling stay."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit


def kept_text(text: str, tables: Mapping[str, Any]) -> str:
    """Return TOML text changed to hold other tables, whatever is the same left as it was written.

    Parameters
    ----------
    text
        The text of a set-up file.
    tables
        What it is to hold, as ``tomllib`` gives: keys that are gone are taken out, new ones come last.

    Returns
    -------
    str
        Text that ``tomllib`` reads as ``tables``.
    """
    document = tomlkit.parse(text)
    _changed(document, tables)
    return tomlkit.dumps(document)


def _changed(old: MutableMapping[str, Any], new: Mapping[str, Any]) -> None:
    """Change one table in place."""
    for key in [one for one in old if one not in new]:
        del old[key]
    for key, value in new.items():
        there = old.get(key)
        if key in old and _plain(there) == value:
            continue
        if isinstance(there, MutableMapping) and isinstance(value, Mapping):
            _changed(there, value)
        else:
            old[key] = value


def _plain(value: object) -> object:
    """Return a value of the document as ``tomllib`` would give it."""
    unwrap = getattr(value, "unwrap", None)
    return value if unwrap is None else unwrap()
