"""A whole row of a sweep's table against the study of that case, column by column."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stickout.fem import Bar, BedGrip, Setup, run_study
from stickout.fem.setup.parts import Solve
from stickout.fem.sweep.sweep import sweep

SETUP = Setup(bar=Bar(80, diameter_mm=16, gripped_mm=60), grip=BedGrip(), solve=Solve(2, 0.01))


def test_every_column_of_a_row_is_the_studys_own_number() -> None:
    """Frequency, spring, direction and the three losses of the mode along the force, each in its unit."""
    (row,) = sweep(SETUP, {"bar.overhang_mm": (64,)})
    result = run_study(replace(SETUP, bar=replace(SETUP.bar, overhang_mm=64)))
    at = result.aligned
    expected = {
        "overhang_over_size": 4.0,
        "note_hz": result.frequency_hz[at],
        "note_error": result.frequency_error[at],
        "spring_um_per_10n": 1e7 * result.compliance_along,
        "stiffness_n_per_um": 1e-6 / result.compliance_along,
        "alignment": result.alignment[at],
        "loss_factor": result.loss.likely[at],
        "loss_factor_low": result.loss.low[at],
        "loss_factor_high": result.loss.high[at],
        "mode_1_hz": result.frequency_hz[0],
        "mode_2_hz": result.frequency_hz[1],
    }
    assert {name: row[name] for name in expected} == pytest.approx(expected, rel=1e-5)
    # Its compliance is that of the finest mesh in one, of the limit in the other.
    assert row["static_share"] == pytest.approx(result.static_share[at], rel=2e-3)
    way = np.array([row[f"direction_{axis}"] for axis in "xyz"])
    assert way == pytest.approx(result.modes.edge[at] / np.linalg.norm(result.modes.edge[at]), abs=1e-5)


def test_low_lies_below_likely_below_high_in_every_band() -> None:
    """Strictly: every band of this set-up comes from numbers that are not known."""
    (row,) = sweep(SETUP, {"bar.overhang_mm": (64,)})
    for name, unit in (("note", "_hz"), ("spring", "_um_per_10n"), ("loss_factor", "")):
        assert row[f"{name}_low{unit}"] < row[f"{name}{unit}"] < row[f"{name}_high{unit}"], name
