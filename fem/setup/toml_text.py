"""Write the tables of a set-up back as TOML text."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from stickout.fem.errors import InputError

_BARE = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")


def toml_text(tables: Mapping[str, Any]) -> str:
    """Return tables as TOML: plain keys first, then sections, then lists of tables.

    Parameters
    ----------
    tables
        Nested dictionaries of texts, numbers, true or false, and lists of them, as ``tomllib`` gives.

    Returns
    -------
    str
        Text that ``tomllib`` reads back as the same tables.

    Raises
    ------
    InputError
        A value has a type that no set-up holds.

    Source
    ------
    TOML 1.0.0 (recalled, not opened).
    """
    return "\n".join(_lines(tables, "")).strip("\n") + "\n"


def _lines(table: Mapping[str, Any], path: str) -> Iterator[str]:
    """Yield the lines of one table; ``path`` is its dotted name, empty for the top."""
    plain = {key: value for key, value in table.items() if not _is_section(value)}
    for key, value in plain.items():
        yield f"{_key(key)} = {_value(value, f'{path}.{key}'.strip('.'))}"
    for key, value in table.items():
        dotted = f"{path}.{_key(key)}" if path else _key(key)
        if isinstance(value, Mapping):
            yield from ("", f"[{dotted}]", *_lines(value, dotted))
        elif _is_section(value):
            for one in value:
                yield from ("", f"[[{dotted}]]", *_lines(one, dotted))


def _is_section(value: object) -> bool:
    """Return whether a value stands under a heading of its own."""
    return isinstance(value, Mapping) or (
        isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)
    )


def _key(key: str) -> str:
    """Return a key, in quotes where it needs them."""
    return key if key and set(key) <= _BARE else _text(key)


def _value(value: object, key: str) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else {math.inf: "inf", -math.inf: "-inf"}.get(value, "nan")
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list):
        return f"[{', '.join(_value(one, key) for one in value)}]"
    allowed = "a text, a number, true or false, or a list of these"
    raise InputError(key=key, given=value, allowed=allowed, mend="Write it as text in quotes.")


def _text(text: str) -> str:
    """Return a text as a basic string: quotes, backslashes and control characters escaped."""
    out = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(one if one >= " " and one != "\x7f" else f"\\u{ord(one):04x}" for one in out) + '"'
