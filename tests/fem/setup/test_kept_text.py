"""A user's file changed here and there: what was not touched stays as it was written, comments and all."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from stickout.fem.setup.kept_text import kept_text

TEXT = """\
# My bar, made in 1998.
units = "mm"            # not inches!

[bar]
diameter = 16           # measured
overhang = "3 in"
[[bar.steps]]
start = 40
diameter = 12           # the neck

[grip]
style = "bed"  # the old post
"""


def tables() -> dict[str, Any]:
    """Return the tables of the text above."""
    return tomllib.loads(TEXT)


def test_the_same_tables_give_the_same_text() -> None:
    """Byte for byte."""
    assert kept_text(TEXT, tables()) == TEXT


@pytest.mark.parametrize(
    "change",
    [
        {"measured": {"grip_n_per_um_mm2": [1.0, 2.0, 3.0], "date": "2026-01-01"}},
        {"bar": {"diameter": 18, "overhang": "3 in", "steps": [{"start": 40, "diameter": 12}]}},
        {"bar": {"section": "tube", "diameter": 16, "bore": 6, "overhang": 80}},
        {"cut": {"operation": "boring", "heard": [{"rpm": 500, "heard": "sang"}, {"rpm": 200.5}]}},
        {"title": 'A "new" name'},
    ],
)
def test_what_is_changed_is_there_and_the_rest_as_written(change: dict[str, Any]) -> None:
    """``tomllib`` reads the tables wanted; every comment of a key that stays is there still."""
    wanted = tables() | change
    found = kept_text(TEXT, wanted)
    assert tomllib.loads(found) == wanted
    for comment in ("# My bar, made in 1998.", "# not inches!", "# the old post"):
        assert comment in found
    assert ("# the neck" in found) is ("steps" in wanted["bar"])
    assert "# measured" in found


def test_a_file_without_a_text_is_written_whole() -> None:
    """From nothing, sections and lists of tables."""
    assert tomllib.loads(kept_text("", tables())) == tables()
