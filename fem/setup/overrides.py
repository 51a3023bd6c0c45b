"""Changes to a set-up for one run: ``--set key=value`` and ``--without section``.

They act on the file's tables before anything is checked, so that a change is judged as if it stood
in the file. Keys are dotted; the steps of a bar are counted from one: ``bar.steps.1.diameter=12``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from copy import deepcopy
from typing import Any, Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain, hint

Tree = dict[str, Any]
DEEPEST: Final = 16  # tables and lists inside each other; a set-up has four


def with_changes(tree: Tree, changes: Iterable[str], *, option: str = "--set") -> Tree:
    """Return a copy of a set-up's tables with ``key=value`` changes applied in order.

    Parameters
    ----------
    tree
        Tables of the set-up file; left as they are.
    changes
        Texts ``key=value``. The value is written as in the file; a text needs no quotes.
    option
        Name of the option they came from, for the error.

    Returns
    -------
    dict
        The changed tables.

    Raises
    ------
    InputError
        A change is not of that form, or its key leads through something that is no section.
    """
    changed = deepcopy(tree)
    for change in changes:
        key, equals, value = change.partition("=")
        if not equals:
            raise InputError(
                key=option,
                given=change,
                allowed="of the form key=value",
                mend="For example bar.overhang=100.",
            )
        *path, last = key_parts(key, change=change, option=option)
        _put(_table_at(changed, path, change, option), last, read_value(value), change=change, option=option)
    return changed


def without(tree: Tree, keys: Iterable[str], *, option: str = "--without") -> Tree:
    """Return a copy of a set-up's tables with these sections or keys left out.

    Raises
    ------
    InputError
        The set-up has no such section or key; the nearest one is offered.
    """
    changed = deepcopy(tree)
    for key in keys:
        *path, last = key_parts(key, change=key, option=option)
        table: Any = changed
        for part in path:
            table = table.get(part) if isinstance(table, dict) else None
        if not isinstance(table, dict) or last not in table:
            known = list(table) if isinstance(table, dict) else list(tree)
            raise InputError(
                key=option,
                given=key,
                allowed="a part of the set-up",
                mend=hint(last, known, otherwise=f"It has {', '.join(known)}."),
            )
        del table[last]
    return changed


def key_parts(key: str, *, change: str, option: str) -> list[str]:
    """Return the parts of a dotted key; a part with blanks in it is quoted as in TOML.

    Raises
    ------
    InputError
        It is no dotted key; ``change`` is the whole text that ``option`` was given.
    """
    try:
        table: Any = tomllib.loads(f"{key.strip()} = 0") if "\n" not in key else {}
    except (ValueError, RecursionError):
        table = {}
    if depth_of(table) > DEEPEST:
        table = {}
    parts: list[str] = []
    while isinstance(table, dict) and table:
        [(part, table)] = table.items()
        parts.append(part)
    if not parts:
        mend = 'For example bar.overhang=100, or materials."my bronze".loss_factor=0.002.'
        raise InputError(key=option, given=change, allowed="a dotted key of the set-up file", mend=mend)
    return parts


def read_value(text: str) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Return a value as TOML reads it, or the text itself where TOML cannot."""
    try:
        table = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):  # no TOML, or numbers and nesting out of all reason
        return text.strip()
    return table["value"] if len(table) == 1 and depth_of(table) <= DEEPEST else text.strip()


def depth_of(value: Any) -> int:  # noqa: ANN401 - whatever TOML holds
    """Return how many tables and lists lie inside each other, without recursion of its own."""
    depth, layer = 0, [value]
    while layer := [one for one in layer if isinstance(one, dict | list)]:
        depth += 1
        layer = [one for outer in layer for one in (outer.values() if isinstance(outer, dict) else outer)]
    return depth


def _table_at(tree: Tree, path: list[str], change: str, option: str) -> Any:  # noqa: ANN401 - table or list
    """Return the table or list at a path, making sections that are not there yet."""
    here: Any = tree
    for part in path:
        if isinstance(here, dict):
            here = here.setdefault(part, {})
        elif isinstance(here, list):
            here = here[_index(here, part, change, option)]
    return here


def _put(here: Any, last: str, value: Any, *, change: str, option: str) -> None:  # noqa: ANN401 - as above
    """Set one key of a table, or one entry of a list."""
    if isinstance(here, dict):
        here[last] = value
    elif isinstance(here, list):
        here[_index(here, last, change, option)] = value
    else:
        mend = "A key cannot lie inside a single value."
        raise InputError(key=option, given=change, allowed="a key of a section", mend=mend)


def _index(entries: list[Any], part: str, change: str, option: str) -> int:
    """Return the position in a list that a part counted from one names."""
    if part.isdecimal() and 1 <= int(part) <= len(entries):
        return int(part) - 1
    count = f"a number from 1 to {len(entries)}"
    raise InputError(key=option, given=change, allowed=Plain(count), mend="The list is counted from one.")
