"""Set-ups that another library solved: every figure of ours inside the accuracy, and inside what is told."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from stickout.fem.setup.file import parse_setup
from stickout.fem.study.study import limit_of

DATA = Path(__file__).parents[1] / "data"
# The default accuracy, and so many modes.
WANTED, MODES = 1e-3, 6


def solved_elsewhere(file: str) -> dict[str, Mapping[str, Any]]:
    """Return the set-ups of a file of ``tests/data`` by name, each with the other library's figures."""
    told = json.loads((DATA / file).read_text(encoding="utf-8"))
    return {one["name"]: one for one in told["set-ups"]}


def assert_figures_hold(one: Mapping[str, Any]) -> None:
    """Compare the first six frequencies and every entry of the compliance, over its diagonal ones."""
    setup = parse_setup(one["text"]).setup
    assert (setup.solve.accuracy, setup.solve.modes) == (WANTED, MODES)
    limit = limit_of(setup)
    assert limit.reached
    order = np.argsort(limit.frequency_hz)[:MODES]
    hz, doubt = (np.array(one[key])[:MODES] for key in ("frequency_hz", "frequency_error"))
    soft, open_part = (np.array(one[key]) for key in ("compliance", "compliance_error"))
    size = np.sqrt(np.diag(soft))
    off = np.abs(limit.frequency_hz[order] / hz - 1)
    soft_off = np.abs(limit.compliance - soft) / np.outer(size, size)
    # Even if the reference is off by as much as it may be.
    assert np.all(off + doubt < WANTED)
    assert np.all(soft_off + open_part < WANTED)
    assert np.all(off <= limit.error[order] + doubt)
    assert np.all(soft_off <= limit.compliance_error + open_part)
