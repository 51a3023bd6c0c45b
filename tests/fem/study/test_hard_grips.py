"""Shims of half a millimetre to two under slot and held grips: every figure inside 0.1 % by default.

The references in ``tests/data/hard_grips.json`` are NGSolve on boxes of order 4 or 5 that are drawn together
at every singular line, with what the last order still changed, or half of what the last cut did, as their
doubt: 1.5e-4 at most (written by ``tests/benchmarks/peer_told_ngsolve.py``).
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from stickout.fem.setup.file import parse_setup
from stickout.fem.study.study import limit_of

TOLD = json.loads((Path(__file__).parents[2] / "data" / "hard_grips.json").read_text(encoding="utf-8"))
SET_UPS = {one["name"]: one for one in TOLD["set-ups"]}
# The others take some seconds each.
QUICK = ("slot, shim of 0.5 mm",)
WANTED = 1e-3


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
    one = SET_UPS[name]
    setup = parse_setup(one["text"]).setup
    assert setup.solve.accuracy == WANTED
    assert setup.solve.modes == 6
    limit = limit_of(setup)
    assert limit.reached
    order = np.argsort(limit.frequency_hz)[:6]
    hz, doubt = (np.array(one[key])[:6] for key in ("frequency_hz", "frequency_error"))
    soft, open_part = (np.array(one[key]) for key in ("compliance", "compliance_error"))
    size = np.sqrt(np.diag(soft))
    off = np.abs(limit.frequency_hz[order] / hz - 1)
    soft_off = np.abs(limit.compliance - soft) / np.outer(size, size)
    # Even if the reference is off by as much as it may be.
    assert np.all(off + doubt < WANTED)
    assert np.all(soft_off + open_part < WANTED)
    assert np.all(off <= limit.error[order] + doubt)
    assert np.all(soft_off <= limit.compliance_error + open_part)
