"""A question of the live page, checked part by part: it may come from anything that speaks HTTP here."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any, Final

from stickout.cli.live.sent import not_sent, sent_object

_KEY: Final = re.compile(r"[a-z_]+(\.[a-z_]+)?")
_MOST_CHANGES: Final = 20
_LONGEST_TAB: Final = 40


def checked_question(body: bytes, names: list[str]) -> dict[str, Any]:
    """Return a question of the page, checked.

    Raises
    ------
    InputError
        It is no JSON, or a part of it is missing or not of its kind.
    """
    question = sent_object(body)
    speed = question.get("speed")
    if speed is not None and not (is_number(speed) and 0 < speed < 1e6):
        raise not_sent("speed", str(speed)[:40], allowed="a speed in rpm above 0")
    return {
        "source": checked_source(question, names),
        "changes": checked_changes(question),
        "speed": speed,
        "tab": checked_tab(question),
        "full": question.get("full") is True,
    }


def checked_source(sent: Mapping[str, Any], names: list[str]) -> str:
    """Return which set-up is asked about; InputError where there is none of that name."""
    source = sent.get("source")
    if not isinstance(source, str) or source not in names:
        raise not_sent("source", source, allowed=f"one of {', '.join(names)}")
    return source


def checked_changes(sent: Mapping[str, Any]) -> dict[str, float]:
    """Return the sliders that were moved; InputError where they are no keys with numbers."""
    changes = sent.get("changes")
    if not isinstance(changes, Mapping) or len(changes) > _MOST_CHANGES:
        raise not_sent(
            "changes", type(changes).__name__, allowed=f"an object of at most {_MOST_CHANGES} numbers"
        )
    for key, value in changes.items():
        if not _KEY.fullmatch(key) or not is_number(value):
            raise not_sent(f"changes.{key[:40]}", str(value)[:40], allowed="a key of the set-up and a number")
    return dict(changes)


def checked_tab(sent: Mapping[str, Any]) -> str:
    """Return which tab asks; InputError where that is no short text."""
    tab = sent.get("tab")
    if not isinstance(tab, str) or len(tab) > _LONGEST_TAB:
        raise not_sent("tab", str(tab)[:40], allowed=f"a text of at most {_LONGEST_TAB} characters")
    return tab


def is_number(value: object) -> bool:
    """Return whether a value is a finite number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < math.inf
