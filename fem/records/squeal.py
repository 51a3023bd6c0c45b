"""What a recorded cut told, as plain data."""

from __future__ import annotations

import math
from typing import Any

from stickout.fem.bench.cutting import Squeal
from stickout.fem.bench.lines import Line


def squeal_record(heard: Squeal) -> dict[str, Any]:
    """Return what a recorded cut told as plain data, SI."""
    return {
        "file": str(heard.recording.path),
        "rate_hz": heard.recording.rate_hz,
        "spindle_hz": heard.comb.turns,
        "spindle_error": heard.comb.error,
        "spindle_heard": heard.comb.heard,
        "note": None if heard.note is None else _line(heard.note),
        "verdict": heard.verdict,
        "why": heard.why,
        "sidebands": list(heard.sidebands),
        "mode": None if heard.match is None else heard.match.best,
        "shares": None if heard.match is None else dict(heard.match.shares),
        "lines": [_line(one) for one in heard.lines],
    }


def _line(one: Line) -> dict[str, Any]:
    """Return one line."""
    order = None if math.isnan(one.order) else one.order
    return {
        "frequency_hz": one.hz,
        "sd_hz": one.sd,
        "level_db": one.level_db,
        "kind": one.kind,
        "order": order,
    }
