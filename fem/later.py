"""Values that are made when they are first asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Later(Generic[T]):
    """A value that is made by ``make`` when it is first asked for, and then kept."""

    make: Callable[[], T]

    @cached_property
    def value(self) -> T:
        """Return the value."""
        return self.make()
