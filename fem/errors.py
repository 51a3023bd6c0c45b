"""Errors of the mechanics: bad input (shared with the meshes) and a computation that failed."""

from __future__ import annotations

from stickout.meshes.errors import InputError

__all__ = ["InputError", "SolveError"]


class SolveError(RuntimeError):
    """A computation failed although its input was allowed; the text says why and what to try.

    Examples
    --------
    >>> from stickout.fem import InputError, SolveError
    >>> issubclass(SolveError, InputError)  # the input may be sound
    False
    """
