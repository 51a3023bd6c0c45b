"""Margins of a cut rebuilt from the JSON file of ``cut`` alone, with NumPy and nothing of the program.

The file's contract: with r the edge's motion, ``r = sum phi q + R F`` and the dynamic force on the tool
``F = -A (r(t) - r(t - tau)) - (C_B / v) dr/dt``; modes of work, absorber and post are rows of one list.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

ComplexArray = NDArray[np.complex128]
FloatArray = NDArray[np.float64]

FEW_WAVES = 20  # on a turn; with more the worst phase counts, as the file's margins are told


def loop_values(model: Mapping[str, Any], w: FloatArray, *, speed: float) -> ComplexArray:
    """Return the eigenvalues of ``(I + i w G C)^-1 G A`` at frequencies [rad/s], each followed along w."""
    cut, flank, rest = (
        np.array(model[key]) for key in ("cut_matrix_n_per_m", "flank_matrix_n_per_m", "residual_m_per_n")
    )
    modes = model["modes"]
    omega = 2 * np.pi * np.array([one["frequency_hz"] for one in modes])
    phi = np.array([one["edge_motion_per_sqrt_kg"] for one in modes])
    damping = np.diag(2 * np.array([one["damping_ratio"] for one in modes]) * omega)
    damping = np.array(model.get("modal_damping_per_s", damping))
    dynamic = np.diag(omega**2) - w[:, None, None] ** 2 * np.eye(len(omega)) + 1j * w[:, None, None] * damping
    g = phi.T @ np.linalg.solve(dynamic, phi[None]) + rest
    values = np.linalg.eigvals(
        np.linalg.solve(np.eye(3) + 1j * w[:, None, None] * g @ (flank / speed), g @ cut)
    )
    for at in range(1, len(w)):  # the order that keeps each value nearest to what it was
        before, now = values[at - 1], list(values[at])
        values[at] = [now.pop(int(np.argmin(np.abs(np.array(now) - one)))) for one in before]
    return values


def worst_phase(values: ComplexArray) -> tuple[float, int]:
    """Return the margin at any speed, ``min 1 / (2 |Re|)`` over negative real parts, and where it is."""
    lowest = values.real.min(axis=1)
    at = int(np.argmin(lowest))
    return -0.5 / float(lowest[at]), at


def at_speed(values: ComplexArray, w: FloatArray, *, turn: float) -> float:
    """Return the margin at a time of one turn [s]: least s with ``1 + s (1 - exp(-i w turn)) value = 0``."""
    loop = (1 - np.exp(-1j * w * turn))[:, None] * values
    first, second = loop[:-1], loop[1:]
    crosses = np.signbit(first.imag) != np.signbit(second.imag)
    share = first.imag / np.where(crosses, first.imag - second.imag, 1.0)
    real = (first.real + share * (second.real - first.real))[crosses]
    return float(1 / -real.min()) if real.size and real.min() < 0 else np.inf


def rebuilt_margins(cut: Mapping[str, Any]) -> list[float]:
    """Return the likely margin at each speed of the block ``cut`` of a result file."""
    first = 2 * np.pi * min(one["frequency_hz"] for one in cut["model"]["modes"])
    chatter = 2 * np.pi * max(one["chatter_hz"] for one in cut["speeds"])
    w = np.linspace(0.3 * first, 1.5 * chatter, 8000)
    out = []
    for one in cut["speeds"]:
        values = loop_values(cut["model"], w, speed=one["cutting_speed_m_per_min"] / 60)
        margin, at = worst_phase(values)
        turn = np.inf if one["rpm"] is None else 60 / one["rpm"]
        if w[at] * turn / (2 * np.pi) < FEW_WAVES:
            margin = at_speed(values, w, turn=turn)
        out.append(margin)
    return out


def rebuilt_dry(cut: Mapping[str, Any]) -> float:
    """Return the likely margin at any speed without the rubbing of the flank."""
    model = {**cut["model"], "flank_matrix_n_per_m": np.zeros((3, 3))}
    first = 2 * np.pi * min(one["frequency_hz"] for one in model["modes"])
    return worst_phase(loop_values(model, np.linspace(0.3 * first, 6 * first, 8000), speed=1.0))[0]
