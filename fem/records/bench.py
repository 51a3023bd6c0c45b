"""What the bench gave, as plain data: taps heard, pulls, and the set-up fitted to them."""

from __future__ import annotations

from typing import Any

from stickout.fem.bench.listening import Heard, HeardFile, HeardMode
from stickout.fem.setup.materials import Band


def interval_record(band: Band) -> dict[str, float]:
    """Return a 90 % interval as plain data."""
    return {"low": float(band.low), "likely": float(band.likely), "high": float(band.high)}


def listen_record(heard: Heard) -> dict[str, Any]:
    """Return what was heard as plain data, SI."""
    return {
        "recordings": [_file(one) for one in heard.files],
        "modes": [_mode(one) for one in heard.modes],
        "refused": heard.refused,
    }


def _file(one: HeardFile) -> dict[str, Any]:
    """Return one recording."""
    return {
        "file": str(one.recording.path),
        "rate_hz": one.recording.rate_hz,
        "taps_used": len(one.taps),
        "taps_refused": [{"at_s": tap.at_s, "reason": tap.reason} for tap in one.refused_taps],
        "refused": one.refused,
    }


def _mode(one: HeardMode) -> dict[str, Any]:
    """Return one note."""
    damping = None if one.damping_ratio is None else interval_record(one.damping_ratio)
    return {
        "frequency_hz": interval_record(one.frequency_hz),
        "damping_ratio": damping,
        "pair": one.pair,
        "level": one.level,
        "notes": list(one.notes),
    }
