"""The one error of a set-up that cannot be used: it carries every mistake."""

from __future__ import annotations

from collections.abc import Sequence

from stickout.fem.errors import InputError


class SetupError(ValueError):
    """A set-up cannot be used; ``mistakes`` holds an InputError for each fault, in file order."""

    def __init__(self, mistakes: Sequence[InputError]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(one) for one in mistakes))
