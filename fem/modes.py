"""The lowest modes of a held bar on one mesh."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem.krylov import lowest_eigenpairs
from fem.model import Model
from meshes.tagged import FloatArray

# Modes beyond those asked for, so that an equal pair is not cut and the last one has converged.
SPARE = 2
_SEED = 20240229


@dataclass(frozen=True)
class Modes:
    """The lowest modes, mass-normalised.

    Attributes
    ----------
    frequency_hz
        Natural frequencies [Hz], rising, shape (n_modes,).
    shapes
        Motion of the nodes [kg^-1/2], shape (n_modes, n_points, 3).
    edge
        Motion of the edge [kg^-1/2], shape (n_modes, 3).
    energy
        Strain energy [J] of each mode in every region and tie, shape (n_modes,) each.
    residual
        Relative residual of each mode in the mass norm, shape (n_modes,).
    """

    frequency_hz: FloatArray
    shapes: FloatArray
    edge: FloatArray
    energy: Mapping[str, FloatArray]
    residual: FloatArray

    @property
    def omega(self) -> FloatArray:
        """Return the natural frequencies [rad/s], shape (n_modes,)."""
        return 2 * np.pi * self.frequency_hz


def solve_modes(model: Model, n_modes: int = 6, *, spare: int = SPARE) -> Modes:
    """Return the lowest modes of a model.

    Parameters
    ----------
    model
        The held bar; a free body gives its six rigid motions first, at 0 Hz.
    n_modes
        How many are wanted.
    spare
        How many more are solved and returned behind them.

    Returns
    -------
    Modes
        ``n_modes + spare`` modes.

    Raises
    ------
    SolveError
        The stiffness is not positive, or the iteration did not converge.
    """
    start = model.layout.gather(_start_shapes(model.mesh.points))
    pairs = lowest_eigenpairs(
        model.factor.solve, model.apply_mass, start=start, wanted=n_modes + spare, shift=model.shift
    )
    # A free body's zero comes out as rounding of the shift, of either sign.
    values = np.where(np.abs(pairs.values) < 1e-9 * max(model.shift, 1.0), 0.0, pairs.values)
    shapes = model.layout.spread(pairs.shapes)
    return Modes(
        frequency_hz=np.sqrt(np.maximum(values, 0.0)) / (2 * np.pi),
        shapes=shapes.transpose(2, 0, 1),
        edge=model.face.motion(shapes).T,
        energy=model.energies(shapes),
        residual=pairs.residuals,
    )


def static_compliance(model: Model) -> FloatArray:
    """Return the static receptance at the edge [m/N], shape (3, 3): solved, not summed from modes."""
    compliance: FloatArray = model.edge_loads.T @ model.factor.solve(model.edge_loads)
    return (compliance + compliance.T) / 2


def _start_shapes(points: FloatArray) -> FloatArray:
    """Return bar-like motions and a few without any symmetry, shape (n_points, 3, 8)."""
    low, high = points.min(axis=0), points.max(axis=0)
    x = (points[:, 0] - low[0]) / (high[0] - low[0])
    y, z = (points[:, 1:] - (low[1:] + high[1:]) / 2).T
    swing, tilt, twist = x**2 * (3 - x), (6 * x - 3 * x**2) / (high[0] - low[0]), np.sin(np.pi / 2 * x)
    out = np.zeros((len(points), 3, 8))
    out[:, 1, 0], out[:, 0, 0] = swing, -tilt * y
    out[:, 2, 1], out[:, 0, 1] = swing, -tilt * z
    out[:, 1, 2], out[:, 2, 2] = -twist * z, twist * y
    out[:, 0, 3] = twist
    out[:, :, 4:] = np.random.default_rng(_SEED).standard_normal((len(points), 3, 4))
    return out
