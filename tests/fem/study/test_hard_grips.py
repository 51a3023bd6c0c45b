"""Shims of half a millimetre to two under slot and held grips: every figure inside 0.1 % by default.

The references in ``tests/data/hard_grips.json`` are NGSolve on boxes of order 4 or 5 that are drawn together
at every singular line, with what the last order still changed, or half of what the last cut did, as their
doubt: 1.5e-4 at most (written by ``tests/benchmarks/peer_told_ngsolve.py``).
"""

from __future__ import annotations

import pytest
from against_library import assert_figures_hold, solved_elsewhere

SET_UPS = solved_elsewhere("hard_grips.json")
# The others take some seconds each.
QUICK = ("slot, shim of 0.5 mm",)


def test_shims_of_every_thickness_are_there_under_both_grips() -> None:
    """The thinnest and the thickest of usual ones, and one between."""
    named = [f"{grip}, shim of {mm} mm" for grip in ("slot", "held") for mm in ("0.5", "1", "2")]
    assert sorted(SET_UPS) == sorted(named)
    assert all(f"thickness = {name.split()[-2]}\n" in one["text"] for name, one in SET_UPS.items())


@pytest.mark.parametrize(
    "name", [name if name in QUICK else pytest.param(name, marks=pytest.mark.slow) for name in SET_UPS]
)
def test_every_figure_is_inside_a_thousandth_and_inside_what_is_told(name: str) -> None:
    """Frequencies of the first six modes and all entries of the compliance, over its diagonal ones."""
    assert_figures_hold(SET_UPS[name])
