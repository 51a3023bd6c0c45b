"""A browser for the tests of pages."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from browser import browser, close_all


@pytest.fixture(scope="module")
def shared() -> Iterator[Any]:
    """Return one browser for all."""
    with browser() as one:
        yield one


@pytest.fixture
def chromium(shared: Any) -> Iterator[Any]:
    """Return the browser without pages of other tests."""
    yield shared
    close_all(shared)
