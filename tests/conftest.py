"""What every test may ask for: the table of check values."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

import stickout.fem  # noqa: F401 - two test workers with two BLAS threads each would get in each other's way

import values  # isort: skip - it loads NumPy, which must come after


@pytest.fixture(scope="session")
def check_table() -> Mapping[str, values.CheckValue]:
    """Return every record of tests/data/check_values.json by its id."""
    return values.check_values()


@pytest.fixture(scope="session")
def check_value() -> Callable[[str], values.CheckValue]:
    """Return the look-up of one record by its id."""
    return values.check_value
