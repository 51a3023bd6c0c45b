"""A result as plain data, in the order and the units of the result file."""

from __future__ import annotations

import math
from typing import Any

from stickout.fem.cut.absorber_notes import absorber_notes
from stickout.fem.records.setup import setup_record
from stickout.fem.study.result import Assumption, Result, hand_mode


def result_record(result: Result, *, tool: str, version: str) -> dict[str, Any]:
    """Return the result file's content: nested plain data, SI but where a key says otherwise.

    Parameters
    ----------
    result
        What the study found.
    tool, version
        Name and version of the program, for the head of the file.

    Returns
    -------
    dict
        The result file's keys, SI; ``cut`` and ``limiting_mode`` are null, since no cut is computed
        here, and ``hand_check`` is null where no formula applies. A mode that does not move the edge has no
        modal mass, no modal stiffness (null) and a direction of zeros.
    """
    mesh = result.model.mesh
    return {
        "tool": tool,
        "version": version,
        "title": result.setup.title,
        "setup": setup_record(result.setup),
        "mesh": {
            "cells": len(mesh.cells),
            "nodes": len(mesh.points),
            "unknowns": result.unknowns,
        },
        "assumptions": [assumption_record(a) for a in result.assumptions],
        "modes": [_mode(result, i) for i in range(result.n_modes)],
        "static": {
            "compliance_m_per_n": result.compliance.tolist(),
            "compliance_error": result.compliance_error.tolist(),
        },
        "hand_check": _hand_check(result),
        "force": {"direction": result.loading.direction.tolist(), "from": result.loading.how},
        "aligned_mode": result.aligned + 1,
        "absorber": _absorber(result),
        "limiting_mode": None,
        "cut": None,
        "warnings": list(result.warnings),
    }


def _absorber(result: Result) -> dict[str, Any] | None:
    """Return what the absorber makes of the aligned mode; null without one, or where it does not feel it."""
    found = absorber_notes(result)
    if found is None:
        return None
    return {
        "mass_ratio": found.mass_ratio,
        "modal_mass_kg": found.modal_mass,
        "coupled_modes": [{"frequency_hz": note, "damping_ratio": zeta} for note, zeta in found.modes],
    }


def assumption_record(assumption: Assumption) -> dict[str, Any]:
    """Return one assumption as plain data."""
    band = assumption.band
    return {
        "name": assumption.name,
        "value": band.likely,
        "low": band.low,
        "high": band.high,
        "unit": assumption.unit,
        "source": band.source,
    }


def _hand_check(result: Result) -> dict[str, Any] | None:
    if result.hand is None:
        return None
    return {
        "what": result.hand.what,
        "frequency_hz": result.hand.frequency_hz,
        "stiffness_n_per_m": result.hand.stiffness_n_per_m,
        "difference": float(result.frequency_hz[hand_mode(result)] / result.hand.frequency_hz - 1),
    }


def _mode(result: Result, i: int) -> dict[str, Any]:
    edge = result.modes.edge[i]
    size = math.sqrt(float(edge @ edge))
    moves = bool(result.moves[i])
    pair = next(([j + 1 for j in p] for p in result.pairs if i in p), None)
    return {
        "number": i + 1,
        "frequency_hz": float(result.frequency_hz[i]),
        "frequency_error": float(result.frequency_error[i]),
        "kind": result.kinds[i],
        # Adding zero turns -0.0 into 0.0.
        "direction": (edge / size + 0.0).tolist() if moves else [0.0, 0.0, 0.0],
        "pair": pair,
        "modal_mass_kg": float(result.modal_mass[i]) if moves else None,
        "modal_stiffness_n_per_m": float(result.modal_stiffness[i]) if moves else None,
        "loss_factor": float(result.loss.likely[i]),
        "loss_factor_low": float(result.loss.low[i]),
        "loss_factor_high": float(result.loss.high[i]),
        "damping_ratio": float(result.loss.likely[i]) / 2,
        "loss_factor_complex": None if result.complex_loss is None else float(result.complex_loss[i]),
        "energy_shares": {k: float(v[i]) for k, v in result.shares.items()},
        "alignment": float(result.alignment[i]) if moves else 0.0,
        "static_share": float(result.static_share[i]),
    }
