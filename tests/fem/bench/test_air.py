"""The air on a bar against another solution by Hankel functions (mpmath, in the table of check values)."""

from __future__ import annotations

import pytest
from bench_references import air_shift
from values import assert_close


@pytest.mark.parametrize(
    ("case", "diameter", "hz"), [("D16_f1052", 0.016, 1052.0), ("D12_f2426", 0.012, 2426.0)]
)
def test_shift_and_radiation(case: str, diameter: float, hz: float) -> None:
    """Half the air's density over the steel's, and a damping ratio of a few millionths. [A.air.*]."""
    shift, ratio = air_shift(diameter, hz, density=7850.0)
    assert_close(f"A.air.df.{case}", shift)
    assert_close(f"A.air.zeta_rad.{case}", ratio)
    assert shift == pytest.approx(-1.204 / (2 * 7850.0), rel=0.11)
