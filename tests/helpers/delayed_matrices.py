"""Roots of a delayed system of several masses, written from its matrices: no receptance is used."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def rightmost_growth(
    matrices: tuple[FloatArray, FloatArray, FloatArray], fed: FloatArray, *, delay: float, nodes: int = 60
) -> complex:
    """Return the rightmost root of ``M x'' + C x' + K x + F (x(t) - x(t - tau)) = 0``.

    Eigenvalues of the delay's generator on Chebyshev nodes (Breda, Maset & Vermiglio 2005, Trefethen's
    differentiation matrix; from memory).
    """
    mass, damping, stiffness = matrices
    n = len(mass)
    angle = np.pi * np.arange(nodes + 1) / nodes
    x = np.cos(angle)
    scale = np.hstack([2.0, np.ones(nodes - 1), 2.0]) * (-1.0) ** np.arange(nodes + 1)
    step = x[:, None] - x[None, :] + np.eye(nodes + 1)
    slope = np.outer(scale, 1.0 / scale) / step
    slope -= np.diag(slope.sum(axis=1))
    generator = np.kron(slope * 2.0 / delay, np.eye(2 * n))
    generator[: 2 * n] = 0.0
    generator[:n, n : 2 * n] = np.eye(n)
    generator[n : 2 * n, :n] = -np.linalg.solve(mass, stiffness + fed)
    generator[n : 2 * n, n : 2 * n] = -np.linalg.solve(mass, damping)
    generator[n : 2 * n, -2 * n : -n] = np.linalg.solve(mass, fed)
    roots = np.linalg.eigvals(generator)
    return complex(max(roots, key=lambda s: s.real))
