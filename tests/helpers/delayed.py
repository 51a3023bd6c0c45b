"""Three independent ways to solve the delayed equation of a cut: roots, semi-discretisation, time steps.

None of them uses the product's eigenvalues of G A; each is written from the equation of motion.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from stickout.fem.chatter.receptance import ModalModel, residual

FloatArray = NDArray[np.float64]


def rightmost_root(omega: float, zeta: float, width: float, delay: float, nodes: int = 120) -> complex:
    """Return the rightmost root of ``s^2 + 2 zeta omega s + omega^2 (1 + w (1 - exp(-s tau)))``.

    First guesses from the delay's generator on Chebyshev nodes (Trefethen's differentiation matrix,
    from memory), then Newton steps on the characteristic function.
    """
    angle = np.pi * np.arange(nodes + 1) / nodes
    x = np.cos(angle)
    scale = np.hstack([2.0, np.ones(nodes - 1), 2.0]) * (-1.0) ** np.arange(nodes + 1)
    step = x[:, None] - x[None, :] + np.eye(nodes + 1)
    slope = np.outer(scale, 1.0 / scale) / step
    slope -= np.diag(slope.sum(axis=1))
    generator = np.kron(slope * 2.0 / delay, np.eye(2))
    generator[:2] = 0.0
    generator[:2, :2] = [[0.0, 1.0], [-(omega**2) * (1.0 + width), -2.0 * zeta * omega]]
    generator[1, -2] = omega**2 * width
    guesses = np.linalg.eigvals(generator)
    guesses = guesses[np.argsort(-guesses.real)][:12]
    roots = [_newton(complex(s), omega, zeta, width, delay) for s in guesses if s.imag > 0.0]
    return max(roots, key=lambda s: s.real)


def _newton(s: complex, omega: float, zeta: float, width: float, delay: float) -> complex:
    """Return the root near s."""
    for _ in range(40):
        wave = np.exp(-s * delay)
        value = s * s + 2.0 * zeta * omega * s + omega**2 * (1.0 + width * (1.0 - wave))
        s -= value / (2.0 * s + 2.0 * zeta * omega + omega**2 * width * delay * wave)
    return s


def semi_discrete_growth(omega: float, zeta: float, width: float, delay: float, steps: int) -> float:
    """Return the growth rate [1/s] of the first-order semi-discretisation with that many steps a delay.

    Insperger & Stépán, IJNME 61 (2004) 117 (abstract opened, scheme derived here): over each step the
    delayed motion runs straight between its two stored values.
    """
    h = delay / steps
    free = np.array([[0.0, 1.0], [-(omega**2) * (1.0 + width), -2.0 * zeta * omega]])
    # exp of the block matrix holds the integrals of exp(A s) times 1 and times s.
    block = np.zeros((4, 4))
    block[:2, :2] = free
    block[:2, 2] = [0.0, omega**2 * width]
    block[2, 3] = 1.0
    moved = expm(block * h)
    late = moved[:2, 3] / h
    early = moved[:2, 2] - late
    size = steps + 2
    advance = np.zeros((size, size))
    advance[:2, :2] = moved[:2, :2]
    advance[:2, -1] += early
    advance[:2, -2] += late
    advance[2, 0] = 1.0
    advance[3:, 2:-1] += np.eye(steps - 1)
    return float(np.log(np.abs(np.linalg.eigvals(advance)).max()) / h)


def simulated_growth(
    model: ModalModel, matrices: FloatArray, *, delay: float, duration: float, per_period: int = 40
) -> FloatArray:
    """Return the growth rate [1/s] of the edge's motion for each matrix A, by Runge-Kutta steps.

    Modal equations ``q'' + eta omega q' + omega^2 q = phi F`` with ``F = -A (r(t) - r(t - tau))`` and
    ``r = phi^T q + residual F``. The delayed motion between steps is a cubic through values and slopes.
    The rate is fitted to the energy of the modes over the last 40 % of the time.
    """
    assert model.viscous
    steps = round(delay * model.omega.max() / (2.0 * np.pi) * per_period)
    h, runs, n = delay / steps, len(matrices), len(model.omega)
    free, fed, shown, fed_through = _state_form(model, matrices)
    step = runge_kutta(free, fed, h)
    velocity = np.hstack([np.zeros((3, n)), model.phi.T])
    y = np.tile(np.concatenate([np.zeros(n), np.ones(n)]), (runs, 1))
    total = round(duration / h)
    # Rings of one delay: the motion at every step, and half a step on from values and slopes.
    ring, half = np.zeros((steps, runs, 3)), np.zeros((steps, runs, 3))
    energy = np.empty((total, runs))
    r, v = _apply(shown, y), y @ velocity.T
    for i in range(total):
        k, after = i % steps, (i + 1) % steps
        old_next = ring[after]
        y = _apply(step, np.hstack([y, ring[k], half[k], old_next]))
        r_next, v_next = _apply(shown, y) + _apply(fed_through, old_next), y @ velocity.T
        ring[k], half[k] = r, 0.5 * (r + r_next) + h / 8.0 * (v - v_next)
        r, v = r_next, v_next
        energy[i] = (y[:, n:] ** 2 + model.omega**2 * y[:, :n] ** 2).sum(axis=1)
    late = np.arange(round(0.6 * total), total)
    return 0.5 * np.polyfit(late * h, np.log(energy[late]), 1)[0]


def _apply(maps: FloatArray, vectors: FloatArray) -> FloatArray:
    """Return each run's map applied to its vector."""
    return np.matmul(maps, vectors[:, :, None])[:, :, 0]


def _state_form(
    model: ModalModel, matrices: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return a, b, c, d with ``y' = a y + b r_old`` and ``r = c y + d r_old`` for y = (q, q')."""
    n, phi = len(model.omega), model.phi
    rest = residual(model) @ matrices
    solve = np.linalg.inv(np.eye(3) + rest)
    c = np.concatenate([solve @ phi.T, np.zeros((len(matrices), 3, n))], axis=2)
    d = solve @ rest
    a = np.zeros((len(matrices), 2 * n, 2 * n))
    a[:, :n, n:] = np.eye(n)
    a[:, n:, :n] = -np.diag(model.omega**2)
    a[:, n:, n:] = -np.diag(model.eta * model.omega)
    a[:, n:] -= phi @ matrices @ c
    b = np.concatenate([np.zeros((len(matrices), n, 3)), phi @ matrices @ (np.eye(3) - d)], axis=1)
    return a, b, c, d


def runge_kutta(a: FloatArray, b: FloatArray, h: float) -> FloatArray:
    """Return the map of one classical step from (y, r_old, r_old half on, r_old next) to the new y."""
    runs, size = a.shape[:2]
    now, start, middle, end = (np.zeros((runs, size, size + 9)) for _ in range(4))
    now[:, :, :size] = np.eye(size)
    for part, place in ((start, size), (middle, size + 3), (end, size + 6)):
        part[:, :, place : place + 3] = b
    k1 = a @ now + start
    k2 = a @ (now + 0.5 * h * k1) + middle
    k3 = a @ (now + 0.5 * h * k2) + middle
    k4 = a @ (now + h * k3) + end
    return now + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
