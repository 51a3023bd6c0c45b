"""The one error that bad input raises, in every package."""

from __future__ import annotations

from typing import Final

_LONGEST: Final = 300  # characters of a value or name that a message repeats


class InputError(ValueError):
    """A value the user gave cannot be used.

    The message always says what was given, what is allowed and how to mend it; the parts
    stay on the exception, so that a reader can list many of them and a test can check each.

    Parameters
    ----------
    key
        Name of the value, as the user wrote it (for a set-up file its dotted path).
    given
        The value that came.
    allowed
        What would have been accepted, with its unit.
    mend
        One sentence that tells the user what to do.

    Examples
    --------
    >>> from stickout.fem import InputError, material
    >>> try:
    ...     material("brasss")
    ... except InputError as error:
    ...     print(error.key, error.given, error.mend)
    material brasss Did you mean 'brass'?
    """

    def __init__(self, *, key: str, given: object, allowed: str, mend: str) -> None:
        self.key = key
        self.given = given
        self.allowed = allowed
        self.mend = mend
        parts = (readable(key), _given(given), readable(allowed, most=None), readable(mend, most=None))
        super().__init__("{} is {}; it must be {}. {}".format(*parts))


def readable(text: str, *, most: int | None = _LONGEST) -> str:
    r"""Return a text on one line, as it can be shown on any screen.

    Control characters, which could steer a terminal, and whatever else has no shape are written as
    escapes; a text longer than ``most`` characters is cut in the middle.

    >>> readable("bar\x1b[2J", most=None)
    'bar\\x1b[2J'
    """
    if most is not None and len(text) > most:
        text = f"{text[: most * 2 // 3]} ... {text[-most // 3 :]}"
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode() for one in text)


def _given(given: object) -> str:
    """Return a given value for a message; a whole number of thousands of digits has no decimal text."""
    try:
        shown = repr(given)
    except ValueError:
        return "a whole number of thousands of digits"
    return readable(shown)
