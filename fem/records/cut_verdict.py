"""The verdict on a cut as plain data: margins at each speed, and the model that rebuilds every likely one."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from stickout.fem.chatter.modal import ModalModel, residual
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.flank import flank_of
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.cut.verdict import Verdict
from stickout.fem.force.law import N_PER_MM2
from stickout.fem.records.bands import band_record, finite
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray


def verdict_record(answer: CutAnswer) -> dict[str, Any]:
    """Return margin, speeds, what was taken for the flank, heard cuts and model, for the result file."""
    verdict = answer.verdict
    crossing = verdict.crossing
    return speeds_record(verdict) | {
        "margin_without_rubbing": band_record(answer.spread.margin),
        "crossing_m_per_min": {
            name: None if value is None else 60 * value for name, value in vars(crossing).items()
        },
        "slowing_helps": verdict.slowing_helps,
        "try_next_rpm": verdict.try_next,
        "flank": {
            "edge": verdict.edge,
            "held_wave_mm": band_record(verdict.wave_star, scale=1 / MM),
            "held_wave_after_heard_mm": verdict.wave_after / MM,
            "clearance_deg": band_record(verdict.clearance, scale=math.degrees(1.0)),
            "stable_by_itself": verdict.poles_stable,
        },
        "heard": [
            {"rpm": one.cut.rpm, "heard": one.cut.heard, "p_quiet": one.p_quiet, "counts": one.counts}
            for one in verdict.heard
        ],
        "model": model_record(answer),
    }


def speeds_record(verdict: Verdict) -> dict[str, Any]:
    """Return what every answer tells: margin, depth limit and pitch at the worst speed, and all speeds."""
    worst = verdict.speeds[verdict.worst]
    low, likely, high = (depth_mm(one) for one in verdict.depth)
    return {
        "margin": band_record(worst.margin),
        "chatter_hz": worst.chatter_hz,
        "depth_limit_mm": {"low": low, "likely": likely, "high": high},
        "speeds": [_speed(one) for one in verdict.speeds],
        "speeds_assumed": verdict.speeds_assumed,
    }


def depth_mm(depth: float) -> float | None:
    """Return a depth limit [mm]: 0 where even the shallowest depth is unstable, None where none limits."""
    if not math.isfinite(depth):
        return None
    return 0.0 if depth <= 1e-6 else depth / MM


def _speed(one: SpeedVerdict) -> dict[str, Any]:
    """Return one speed."""
    return {
        "rpm": one.speed_rpm,
        "margin": band_record(one.margin),
        "p_quiet": one.p_quiet,
        "p_quiet_before_heard": one.p_before,
        "verdict": one.verdict,
        "surely": one.surely,
        "cutting_speed_m_per_min": 60 * one.cutting_speed,
        "wavelength_mm": one.wavelength / MM,
        "waves_per_turn": finite(one.waves),
        "chatter_hz": one.chatter_hz,
        "ceiling_um": one.ceiling * 1e6,
        "depth_limit_mm": None if one.depth_limit is None else one.depth_limit / MM,
        "deepest_quiet_mm": None if math.isinf(one.deepest_quiet) else one.deepest_quiet / MM,
        "noisy_depth_mm": None if one.noisy_depth is None else one.noisy_depth / MM,
        "quiet_depth_mm": None if one.quiet_depth is None else one.quiet_depth / MM,
    }


def model_record(answer: CutAnswer) -> dict[str, Any]:
    """Return the matrices and modes from which every likely margin can be rebuilt."""
    case, model = answer.case, answer.both
    omega, phi, damping = real_modes(model)
    record: dict[str, Any] = {
        "cut_matrix_n_per_m": case.stiffness.tolist(),
        "flank_matrix_n_per_m": flank_of(case).tolist(),
        "modes": [
            {
                "frequency_hz": float(w) / (2 * math.pi),
                "damping_ratio": float(d) / (2 * float(w)),
                "edge_motion_per_sqrt_kg": one.tolist(),
            }
            for w, one, d in zip(omega, phi, np.diag(damping), strict=True)
        ],
        "residual_m_per_n": residual(model).tolist(),
        "force_law": {
            "kc11_n_per_mm2": case.law.kc11 / N_PER_MM2,
            "mc": case.law.mc,
            "thrust_ratio": case.law.thrust_ratio,
        },
    }
    if model.attached is not None:
        # The absorber's dashpot couples the modes: its whole matrix, of which the ratios are the diagonal.
        record["modal_damping_per_s"] = damping.tolist()
    return record


def real_modes(model: ModalModel) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return frequencies [rad/s], edge motion and damping matrix [1/s] of tool, work and absorber together.

    Parameters
    ----------
    model
        The modal model; an absorber adds one mode for each way that it moves.

    Returns
    -------
    tuple of ndarray
        Shapes (n,), (n, 3), (n, n). Without an absorber the damping matrix is diagonal.

    Source
    ------
    Undamped modes of the modes with the absorber's mass on its spring (computed here).
    """
    own = np.diag(model.eta * model.omega)
    hung = model.attached
    if hung is None:
        return model.omega, model.phi, own
    n, d = hung.phi.shape
    mass, w, zeta = (float(one) for one in (hung.mass, hung.omega, hung.zeta))
    link = np.vstack([hung.phi * math.sqrt(mass), -np.eye(d)])
    stiff = w**2 * link @ link.T
    stiff[:n, :n] += np.diag(model.omega**2)
    damping = 2 * zeta * w * link @ link.T
    damping[:n, :n] += own
    square, shapes = np.linalg.eigh(stiff)
    phi = shapes.T @ np.vstack([model.phi, np.zeros((d, 3))])
    return np.sqrt(square), phi, shapes.T @ damping @ shapes
