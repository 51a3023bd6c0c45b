"""The answer on a cut as plain data, for the result file: the ``cut`` block and what goes with it."""

from __future__ import annotations

import math
from typing import Any

from stickout.fem.cut.along import CutStation
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.assumed import cut_assumptions
from stickout.fem.force.case import CutCase
from stickout.fem.records.bands import band_record, finite
from stickout.fem.records.cut_verdict import verdict_record
from stickout.fem.records.result import assumption_record, result_record
from stickout.fem.units import MM


def cut_result_record(answer: CutAnswer, *, tool: str, version: str) -> dict[str, Any]:
    """Return the result file of a cut: that of the modes, with the cut and the losses that counted.

    Parameters
    ----------
    answer
        The answer.
    tool, version
        Name and version of the program.

    Returns
    -------
    dict
        The loss factors of the modes are those the cut counts on, clamping included.
    """
    record = result_record(answer.result, tool=tool, version=version)
    loss = answer.loss.loss
    for at, mode in enumerate(record["modes"]):
        mode["loss_factor"] = float(loss.likely[at])
        mode["loss_factor_low"], mode["loss_factor_high"] = float(loss.low[at]), float(loss.high[at])
        mode["damping_ratio"] = float(loss.likely[at]) / 2
    record["assumptions"] += [assumption_record(one) for one in cut_assumptions(answer)]
    record["limiting_mode"] = None if answer.limiting is None else answer.limiting + 1
    record["cut"] = force_record(answer.case) | verdict_record(answer) | _more_record(answer)
    return record


def force_record(case: CutCase) -> dict[str, Any]:
    """Return force and engaged edge: newtons, and millimetres as the names say."""
    edge, push = case.edge, case.on_tool
    size = math.sqrt(float(push @ push))
    return {
        "force_n": {"c": case.force.c, "f": case.force.f, "p": case.force.p},
        "force_direction": (push / size).tolist(),
        "edge": {
            "area_mm2": float(edge.area) / MM**2,
            "length_mm": float(edge.length) / MM,
            "mean_chip_mm": float(edge.mean_chip) / MM,
        },
    }


def _more_record(answer: CutAnswer) -> dict[str, Any]:
    """Return what the answer holds beyond the contract's keys."""
    spread, slow = answer.spread, answer.slow
    return {
        "saturated": answer.saturated,
        "narrows_most": spread.margin.narrows_most,
        "uncertainty": {
            name: {"low": band.low, "high": band.high, "share": spread.margin.shares[name]}
            for name, band in spread.bands.items()
        },
        "loss_given_by_user": answer.loss.given,
        "levers_at_rpm": answer.verdict.stated.speed_rpm,
        "levers_at_m_per_min": 60 * answer.verdict.stated.cutting_speed,
        "levers": [
            {
                "key": one.key,
                "change": one.change,
                "factor": one.factor,
                "margin_before": one.before.margin,
                "margin_after": one.after.margin,
                "p_quiet_before": one.before.p_quiet,
                "p_quiet_after": one.after.p_quiet,
                "price": one.price,
                "price_factor": one.cost,
                "parts": [{"key": part.key, "change": part.change} for part in one.parts],
            }
            for one in answer.levers
        ],
        "rotation": _rotation_record(answer),
        "low_speed": {
            "quiet_below_m_per_min": band_record(slow.quiet, scale=60.0),
            "squeal_n_per_m_per_min": finite(slow.squeal / 60),
            "least_chip_mm": band_record(slow.least_chip, scale=1 / MM),
            "edge_form_factor": slow.edge_form_factor,
        },
        "spring_off": _spring_record(answer),
        "work": _work_record(answer),
        "dig_in": _dig_in_record(answer),
        "leverage": _leverage_record(answer),
        "stations": [station_record(one) for one in answer.along],
        "pockets": _pockets_record(answer),
        "not_round": None
        if answer.angle is None
        else {
            "margin_weakest": finite(answer.angle.weakest),
            "margin_mean": finite(answer.angle.mean),
        },
        "margin_without_absorber": None if answer.bare_margin is None else finite(answer.bare_margin),
    }


def station_record(one: CutStation) -> dict[str, Any]:
    """Return the cut at one place of the part."""
    return {
        "at_m": one.at_mm * MM,
        "margin": finite(one.margin),
        "margin_after": finite(one.after),
        "chatter_hz": one.chatter_hz,
        "sings": one.sings,
    }


def _pockets_record(answer: CutAnswer) -> dict[str, Any] | None:
    """Return the speeds between lobes that a low note of the part makes real; null where waves are many."""
    found = answer.pockets
    if found is None:
        return None
    return {
        "looked_at_rpm": [found.slowest, found.fastest],
        "best_rpm": found.best_rpm,
        "best_margin": finite(found.best_margin),
        "quiet_rpm": [
            {"low": one.low, "high": one.high, "margin": finite(one.margin)} for one in found.quiet
        ],
        "shift": {"low": found.shift[0], "high": found.shift[1]},
    }


def _rotation_record(answer: CutAnswer) -> dict[str, Any]:
    """Return the limit against rotation of the section."""
    turned = answer.turned
    return {
        "angles_deg": turned.angles_deg.tolist(),
        "margin": [finite(float(one)) for one in turned.margin],
        "now_deg": turned.now_deg,
        "best_deg": None if turned.alike else turned.best_deg,
        "good_windows_deg": [] if turned.alike else [list(one) for one in turned.windows],
    }


def _spring_record(answer: CutAnswer) -> dict[str, Any]:
    """Return the static errors in millimetres."""
    spring, bore = answer.spring_off, answer.spring_off.bore
    return {
        "edge_mm": (spring.edge / MM).tolist(),
        "radial_mm": spring.radial / MM,
        "diameter_error_mm": 2 * spring.radial / MM,
        "left_after_passes_mm": (spring.left / MM).tolist(),
        "taper_mm": None if spring.taper is None else spring.taper / MM,
        "bore": None
        if bore is None
        else {
            "drop_mm": bore.drop / MM,
            "clearance_lost_deg": math.degrees(bore.clearance_lost),
            "diameter_change_0.1_above_centre_mm": bore.diameter_change / MM,
        },
    }


def _leverage_record(answer: CutAnswer) -> dict[str, Any] | None:
    """Return who is soft: shares of the spring, and margins with one side made rigid."""
    found = answer.leverage
    if found is None:
        return None
    return {
        "static_shares": dict(found.static),
        "softest": found.softest,
        "sings": found.singer,
        "rigid": [
            {"side": one.side, "margin": finite(one.margin), "chatter_hz": one.chatter_hz}
            for one in found.rigid
        ],
    }


def _dig_in_record(answer: CutAnswer) -> dict[str, Any] | None:
    """Return whether a blade digs in; null for other cuts, and no factor where the cut springs it away."""
    found = answer.dig_in
    if found is None:
        return None
    pulled, above = found.pulled / MM, found.above / MM
    return {"cut_may_grow": finite(found.factor), "pulled_in_mm": pulled, "edge_above_axis_mm": above}


def _work_record(answer: CutAnswer) -> dict[str, Any] | None:
    """Return tool against work."""
    side = answer.side
    if side is None:
        return None
    return {
        "tool_share_static": side.static_share,
        "tool_share_chatter": side.dynamic_share,
        "soft_side": side.soft_side,
        "spring_m_per_n": side.work_compliance_along,
    }
