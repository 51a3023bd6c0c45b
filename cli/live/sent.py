"""What the live page sends, read with care: it may come from anything that speaks HTTP on this machine."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from stickout.fem.errors import InputError


def sent_object(body: bytes) -> Mapping[str, Any]:
    """Return the JSON object that was sent.

    Raises
    ------
    InputError
        It is no JSON, or no object.
    """
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError):
        raise not_sent("question", "no JSON", allowed="JSON") from None
    if not isinstance(sent, Mapping):
        raise not_sent("question", type(sent).__name__, allowed="an object")
    return sent


def not_sent(key: str, given: object, *, allowed: str) -> InputError:
    """Return the error of something that the page itself would not send."""
    return InputError(key=key, given=given, allowed=allowed, mend="Load the page again.")
