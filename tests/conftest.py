"""What every test may ask for: the table of check values; and when the slow tests run."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Mapping

import pytest

import stickout.fem  # noqa: F401 - two test workers with two BLAS threads each would get in each other's way

import values  # isort: skip - it loads NumPy, which must come after
from kept import FOLDER

SLOW = "STICKOUT_TESTS_SLOW"  # workers inherit it; what is set on their options is lost


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the whole suite be asked for."""
    parser.addoption("--slow", action="store_true", help="run the tests marked slow too, after the others")


def pytest_configure(config: pytest.Config) -> None:
    """Run a file that is named whole; workers are told by the process that reads the command line."""
    if hasattr(config, "workerinput"):
        return
    if config.option.slow or config.option.markexpr or config.args_source is pytest.Config.ArgsSource.ARGS:
        os.environ[SLOW] = "yes"
    os.environ[FOLDER] = tempfile.mkdtemp(prefix="stickout-tests-")


def pytest_unconfigure(config: pytest.Config) -> None:
    """Remove what the tests kept for each other."""
    if not hasattr(config, "workerinput") and FOLDER in os.environ:
        shutil.rmtree(os.environ.pop(FOLDER), ignore_errors=True)
        os.environ.pop(SLOW, None)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put the slow tests last, or leave them out where neither they nor a mark was asked for.

    Workers (``--dist loadfile``) take the tests of a file together: what its tests share is made once.
    """
    slow = [item for item in items if item.get_closest_marker("slow")]
    items[:] = [item for item in items if not item.get_closest_marker("slow")]
    if SLOW in os.environ:
        items += slow
    else:
        config.hook.pytest_deselected(items=slow)


@pytest.fixture(scope="session")
def check_table() -> Mapping[str, values.CheckValue]:
    """Return every record of tests/data/check_values.json by its id."""
    return values.check_values()


@pytest.fixture(scope="session")
def check_value() -> Callable[[str], values.CheckValue]:
    """Return the look-up of one record by its id."""
    return values.check_value
