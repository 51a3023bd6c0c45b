"""Time steps of the delayed equation with a rubbing flank, from mass, damping and stiffness matrices.

Nothing here uses a receptance: ``M x'' + D x' + K x = -E A (r - r_old) - E C r'`` with ``r = E^T x``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from delayed import runge_kutta
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Swinging:
    """Mass, damping and stiffness, shape (n, n), and how each coordinate moves edge against work, (n, 3)."""

    mass: FloatArray
    damping: FloatArray
    stiffness: FloatArray
    edge: FloatArray

    def beside(self, other: Swinging) -> Swinging:
        """Return this tool with work beside it: the edge moves against the work."""
        n, m = len(self.mass), len(other.mass)
        both = []
        for a, b in (
            (self.mass, other.mass),
            (self.damping, other.damping),
            (self.stiffness, other.stiffness),
        ):
            both.append(np.block([[a, np.zeros((n, m))], [np.zeros((m, n)), b]]))
        return Swinging(both[0], both[1], both[2], np.vstack([self.edge, -other.edge]))

    def hung(self, place: FloatArray, *, mass: float, hertz: float, zeta: float) -> Swinging:
        """Return it with a mass on spring and dashpot at a place that the coordinates move so, shape (n,)."""
        w = 2 * np.pi * hertz
        link = np.append(place, -1.0)
        tie = np.outer(link, link)

        def grown(matrix: FloatArray, corner: float) -> FloatArray:
            out = np.zeros((len(matrix) + 1,) * 2)
            out[:-1, :-1], out[-1, -1] = matrix, corner
            return out

        return Swinging(
            grown(self.mass, mass),
            grown(self.damping, 0.0) + 2 * zeta * mass * w * tie,
            grown(self.stiffness, 0.0) + mass * w**2 * tie,
            np.vstack([self.edge, np.zeros(3)]),
        )

    def worst_phase(self, cut: FloatArray, flank: FloatArray, *, omega: float) -> float:
        """Return the phase of the old wave [rad] at which a frequency is met with the least cut.

        ``1 + s (1 - exp(-i e)) lambda = 0`` for the eigenvalue of the damped loop farthest to the left.
        """
        dynamic = (
            self.stiffness
            - omega**2 * self.mass
            + 1j * omega * (self.damping + self.edge @ flank @ self.edge.T)
        )
        loop = self.edge.T @ np.linalg.solve(dynamic, self.edge @ cut)
        values = np.linalg.eigvals(loop)
        value = values[np.argmin(values.real)]
        return float(-np.angle(1.0 - 2.0 * value.real / value)) % (2 * np.pi)

    def growth(
        self,
        cuts: FloatArray,
        flank: FloatArray,
        *,
        delay: float,
        duration: float = 0.25,
        per_period: int = 24,
    ) -> FloatArray:
        """Return the growth rate [1/s] of the motion for each A, shape (runs, 3, 3), by Runge-Kutta steps.

        The motion of the last turn between steps is a cubic through values and slopes. The rate is fitted to
        the energy over the last 40 % of the time.
        """
        n, runs, inverse = len(self.mass), len(cuts), np.linalg.inv(self.mass)
        fastest = np.sqrt(np.abs(np.linalg.eigvals(inverse @ self.stiffness)).max())
        steps = round(delay * fastest / (2 * np.pi) * per_period)
        h, total = delay / steps, round(duration / delay * steps)
        free, fed = np.zeros((runs, 2 * n, 2 * n)), np.zeros((runs, 2 * n, 3))
        free[:, :n, n:] = np.eye(n)
        free[:, n:, :n] = -inverse @ (self.stiffness + self.edge @ cuts @ self.edge.T)
        free[:, n:, n:] = -inverse @ (self.damping + self.edge @ flank @ self.edge.T)
        fed[:, n:] = inverse @ self.edge @ cuts
        step = runge_kutta(free, fed, h)
        y = np.tile(np.concatenate([np.zeros(n), np.ones(n)]), (runs, 1))
        ring, half = np.zeros((steps, runs, 3)), np.zeros((steps, runs, 3))
        energy = np.empty((total, runs))
        for i in range(total):
            k, after = i % steps, (i + 1) % steps
            r, v = y[:, :n] @ self.edge, y[:, n:] @ self.edge
            y = np.matmul(step, np.hstack([y, ring[k], half[k], ring[after]])[:, :, None])[:, :, 0]
            ring[k] = r
            half[k] = 0.5 * (r + y[:, :n] @ self.edge) + h / 8.0 * (v - y[:, n:] @ self.edge)
            energy[i] = ((y[:, n:] @ self.mass) * y[:, n:] + (y[:, :n] @ self.stiffness) * y[:, :n]).sum(
                axis=1
            )
        late = np.arange(round(0.6 * total), total)
        return np.asarray(0.5 * np.polyfit(late * h, np.log(energy[late]), 1)[0])


def of_modes(frequency_hz: FloatArray, edge: FloatArray, *, zeta: FloatArray) -> Swinging:
    """Return modes of unit mass that move the edge so, shape (n, 3)."""
    omega = 2 * np.pi * frequency_hz
    return Swinging(np.eye(len(omega)), np.diag(2 * zeta * omega), np.diag(omega**2), edge)
