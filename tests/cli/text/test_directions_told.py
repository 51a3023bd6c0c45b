"""Words for directions against the numbers of the result file."""

from __future__ import annotations

import re

import pytest
from answers import EXAMPLES, more_of, result_of, told

pytestmark = pytest.mark.slow


def test_springs_are_named_by_the_way_they_give() -> None:
    """A tool held on floor and top is stiffer up and down (z) than sideways (y), and stiffest endwise (x)."""
    rows = result_of("turning_tool_12mm")["static"]["compliance_m_per_n"]
    text = " ".join(more_of("turning_tool_12mm").split())
    for words, axis in (("up and down", 2), ("sideways", 1), ("endwise", 0)):
        found = re.search(rf"([\d.]+) µm {words}", text)
        assert found is not None, words
        assert float(found[1]) == pytest.approx(1e7 * rows[axis][axis], rel=0.06), words
    assert rows[2][2] < 0.9 * rows[1][1]


@pytest.mark.parametrize(("overhang", "way"), [(96, "lower"), (64, "higher")])
def test_a_longer_bar_sings_lower_and_a_shorter_one_higher(overhang: int, way: str) -> None:
    """Beam theory: the note falls with the square of the overhang; the verdict says which way it goes."""
    done = told("compare", EXAMPLES / "boring_bar_16mm.toml", "--with", f"bar.overhang={overhang}")
    assert done.code == 0, done.err
    verdict = re.search(r"^B +(?:Worse|Better).*?\n(?=\S)", done.out, re.MULTILINE | re.DOTALL)
    assert verdict is not None
    assert re.search(r"ring \d+ % (lower|higher)", " ".join(verdict[0].split()))[1] == way
