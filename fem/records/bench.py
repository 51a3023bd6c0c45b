"""What the bench gave, as plain data: taps heard, pulls, and the set-up fitted to them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from stickout.fem.bench.clusters import HeardMode
from stickout.fem.bench.fit import Fitted
from stickout.fem.bench.listening import Heard, HeardFile
from stickout.fem.bench.predictions import Predictions
from stickout.fem.bench.pull import Pulled
from stickout.fem.bench.seat import Pulls
from stickout.fem.bench.trust import trust
from stickout.fem.setup.bands import Band


def interval_record(band: Band) -> dict[str, float]:
    """Return a 90 % interval as plain data."""
    return {"low": float(band.low), "likely": float(band.likely), "high": float(band.high)}


def listen_record(heard: Heard) -> dict[str, Any]:
    """Return what was heard as plain data, SI."""
    return {
        "recordings": [_file(one) for one in heard.files],
        "modes": [{**_mode(one), "trust": asdict(trust(heard, one))} for one in heard.modes],
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


def pull_record(told: Pulls) -> dict[str, Any]:
    """Return pulls as plain data, SI: the first at the top, all of them in a list, and the split by base."""
    every = [_pulled(one, opens) for one, opens in zip(told.pulls, told.opens, strict=True)]
    split = {name: interval_record(band) for name, band in told.split.items()}
    return {**every[0], "pulls": every, "split_m_per_n": split, "tool_computed": told.computed}


def _pulled(one: Pulled, opens: Band | None) -> dict[str, Any]:
    """Return one pull."""
    return {
        "base": one.pull.base,
        "load_at_m": one.pull.load_at,
        "dial_at_m": one.pull.dial_at,
        "compliance_m_per_n": None if one.compliance is None else interval_record(one.compliance),
        "slack_m": one.slack,
        "loop_loss_factor": one.loop_loss,
        "opening_force_n": None if opens is None else interval_record(opens),
        "notes": list(one.notes),
        "refused": one.refused,
    }


def fit_record(fitted: Fitted) -> dict[str, Any]:
    """Return a fit as plain data, SI but for parameters, which are as the set-up's keys take them."""
    return {
        "parameters": [{"key": key, **interval_record(band)} for key, band in fitted.parameters.items()],
        "predictions": _predictions(fitted.predictions),
        "before": _predictions(fitted.before),
        "steps": [{"with": name, **_predictions(one)} for name, one in fitted.steps],
        "next": [
            {
                "what": one.what,
                "rpm": one.rpm,
                "feeds_m": list(one.feeds),
                "margin_high_over_low": one.factor,
                "margin_without_rubbing_high_over_low": one.without_rubbing,
            }
            for one in fitted.worths
        ],
        "disagreement": fitted.disagreement,
        "left_out": list(fitted.left_out),
        "full_solves": fitted.full_solves,
    }


def _predictions(one: Predictions) -> dict[str, Any]:
    """Return what follows."""
    bands = {"margin": one.margin, "margin_without_rubbing": one.margin_without_rubbing}
    return {
        "frequency_hz": interval_record(one.frequency_hz),
        "spring_m_per_n": interval_record(one.compliance_along),
        **{name: None if band is None else interval_record(band) for name, band in bands.items()},
        "shares": dict(one.shares),
        "shares_without_rubbing": dict(one.shares_without_rubbing),
        "speeds": [
            {"rpm": at.rpm, "margin": interval_record(at.margin), "p_quiet": at.p_quiet} for at in one.speeds
        ],
    }
