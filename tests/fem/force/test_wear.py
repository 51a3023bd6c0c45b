"""The wear factor reaches all that a worn edge pushes harder with."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cutting_cases import BORE

from stickout.fem.force.case import case_of


def test_a_worn_edge_pushes_and_stiffens_by_its_factor() -> None:
    """Kienzle's factor multiplies the whole force: 1.3 makes force and cut stiffness 1.3 times as large."""
    sharp, worn = case_of(BORE), case_of(replace(BORE, wear_factor=1.3))
    assert worn.on_tool == pytest.approx(1.3 * sharp.on_tool)
    assert worn.stiffness == pytest.approx(1.3 * sharp.stiffness)
