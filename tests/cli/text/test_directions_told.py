"""Words for directions against the numbers of the result file."""

from __future__ import annotations

import re

import pytest
from answers import answer_of, result_of


def test_springs_are_named_by_the_way_they_give() -> None:
    """A tool held on floor and top is stiffer up and down (z) than sideways (y), and stiffest endwise (x)."""
    rows = result_of("turning_tool_12mm")["static"]["compliance_m_per_n"]
    text = " ".join(answer_of("turning_tool_12mm").out.split())
    for words, axis in (("up and down", 2), ("sideways", 1), ("endwise", 0)):
        found = re.search(rf"([\d.]+) µm {words}", text)
        assert found is not None, words
        assert float(found[1]) == pytest.approx(1e7 * rows[axis][axis], rel=0.06), words
    assert rows[2][2] < 0.9 * rows[1][1]
