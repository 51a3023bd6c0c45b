"""A planned absorber as plain data, SI throughout."""

from __future__ import annotations

from typing import Any

from stickout.fem.absorber.band import OFF_TOLD, SOURCE, AbsorberBand
from stickout.fem.absorber.plan import AbsorberPlan
from stickout.fem.absorber.tuning import ZETAS, Tuned
from stickout.fem.records.cut_verdict import speeds_record
from stickout.fem.records.result import assumption_record
from stickout.fem.records.setup import setup_record
from stickout.fem.setup.bands import Band, exactly
from stickout.fem.study.result import Assumption
from stickout.fem.units import MM


def absorber_assumptions(plan: AbsorberPlan, band: AbsorberBand) -> list[Assumption]:
    """Return every number the plan assumed beyond those of the bar, with band and source."""
    slug = plan.best.slug
    out = [
        Assumption(f"slug density ({slug.material.name})", slug.material.density, "kg/m3"),
        Assumption("gap for the soft rings", exactly(slug.gap_mm * MM, SOURCE), "m"),
        Assumption("damping ratio soft rings reach", Band(ZETAS[0], 0.15, ZETAS[1], SOURCE), ""),
    ]
    return out + [
        Assumption(f"{one.name} over the likely one", Band(one.low, 1.0, one.high, SOURCE), "")
        for one in band.bands
    ]


def absorber_record(plan: AbsorberPlan, band: AbsorberBand, *, tool: str, version: str) -> dict[str, Any]:
    """Return the plan as nested plain data.

    Parameters
    ----------
    plan
        The plan.
    band
        Its band.
    tool, version
        Name and version of the program.

    Returns
    -------
    dict
        Gains are ratios of how far the cut may grow at any speed, to the bar as it is; frequencies in Hz;
        ``cut_before`` and ``cut_after`` what the command ``cut`` says, as in its own file; null without a
        cut.
    """
    assumed = [*plan.result.assumptions, *absorber_assumptions(plan, band)]
    low, likely, high = band.gain
    return {
        "tool": tool,
        "version": version,
        "title": plan.job.setup.title,
        "setup": setup_record(plan.best.setup),
        "assumptions": [assumption_record(one) for one in assumed],
        "bar": {
            "note_hz": float(plan.base.frequency_hz[plan.base.aligned]),
            "spring_m_per_n": plan.base.compliance_along,
        },
        "absorbers": [_tuned(one) for one in (plan.best, *plan.others)],
        "gain": {"low": low, "likely": likely, "high": high},
        "cut_described": plan.before is not None,
        "cut_before": None if plan.before is None else speeds_record(plan.before.verdict),
        "cut_after": None if plan.after is None else speeds_record(plan.after.verdict),
        "window_hz": list(band.window_hz),
        "off_tune": [{"off": off, "gain": band.at(off)} for off in OFF_TOLD],
        "places": [
            {"position_m": at * MM, "mass_ratio": mu, "gain_one_mode": gain} for at, mu, gain in band.places
        ],
    }


def _tuned(one: Tuned) -> dict[str, Any]:
    """Return one absorber."""
    slug = one.slug
    return {
        "kind": slug.kind,
        "material": slug.material.name,
        "mass_kg": slug.mass_g * 1e-3,
        "outside_m": slug.outside_mm * MM,
        "inside_m": slug.inside_mm * MM,
        "length_m": slug.length_mm * MM,
        "bore_m": slug.bore_mm * MM,
        "position_m": slug.position_mm * MM,
        "mass_ratio": one.mu,
        "frequency_hz": one.absorber.frequency_hz,
        "damping_ratio": one.absorber.damping_ratio,
        "rings_stiffness_n_per_m": one.stiffness,
        "rings_dashpot_n_s_per_m": one.dashpot,
        "bar_note_hz": one.note_hz,
        "spring_m_per_n": one.compliance_along,
        "gain": one.gain,
    }
