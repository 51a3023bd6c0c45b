"""The one error that bad input raises, in every package."""

from __future__ import annotations


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
        super().__init__(f"{key} is {given!r}; it must be {allowed}. {mend}")
