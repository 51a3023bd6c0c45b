"""The lowest modes of a held bar on one mesh."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem.krylov import Eigenpairs, lowest_eigenpairs
from fem.model import Model
from fem.symmetry import Part
from meshes.tagged import FloatArray, IntArray

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
    part
        Which of ``model.parts`` each mode belongs to, shape (n_modes,).
    """

    frequency_hz: FloatArray
    shapes: FloatArray
    edge: FloatArray
    energy: Mapping[str, FloatArray]
    residual: FloatArray
    part: IntArray

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
    found = _lowest_of_parts(model, n_modes + spare)
    values = np.concatenate([f.values for f in found])
    part = np.repeat(np.arange(len(found)), [len(f.values) for f in found])
    order = np.argsort(values, kind="stable")[: n_modes + spare]
    shapes = [p.whole(f.shapes, len(model.mesh.points)) for p, f in zip(model.parts, found, strict=True)]
    picked = np.concatenate(shapes, axis=2)[:, :, order]
    # A free body's zero comes out as rounding of the shift, of either sign.
    values = np.where(np.abs(values) < 1e-9 * max(model.shift, 1.0), 0.0, values)
    energy = [_energies(p.model, f) for p, f in zip(model.parts, found, strict=True)]
    return Modes(
        frequency_hz=np.sqrt(np.maximum(values[order], 0.0)) / (2 * np.pi),
        shapes=picked.transpose(2, 0, 1),
        edge=model.face.motion(picked).T,
        energy={name: np.concatenate([e[name] for e in energy])[order] for name in energy[0]},
        residual=np.concatenate([f.residuals for f in found])[order],
        part=part[order],
    )


def _lowest_of_parts(model: Model, total: int) -> list[Eigenpairs]:
    """Return the lowest modes of every part, enough of each that the lowest of all are among them.

    Each part is asked for its fair share; one whose highest mode is still among the lowest of all
    is asked again for more.
    """
    parts = model.parts
    start = _start_shapes(model.mesh.points, spare=4 if len(parts) == 1 else 2)
    asked = [min(total, 1 + total // (1 + len(parts) // 2))] * len(parts)
    found = [_part_modes(p, start, wanted=n) for p, n in zip(parts, asked, strict=True)]
    while True:
        values = np.sort(np.concatenate([f.values for f in found]))
        highest = values[total - 1] if len(values) >= total else np.inf
        short = [
            i
            for i, f in enumerate(found)
            if len(f.values) == asked[i] < min(total, parts[i].model.layout.n_unknowns)
            and f.values[-1] <= highest
        ]
        if not short:
            return found
        for i in short:
            asked[i] = min(total, asked[i] + 2)
            found[i] = _part_modes(parts[i], start, wanted=asked[i])


def _energies(model: Model, pairs: Eigenpairs) -> dict[str, FloatArray]:
    """Return the strain energy [J] of a part's modes in every region and tie, as energy of the whole."""
    names = [*model.mesh.regions, *model.ties]
    if len(names) == 1:
        return {names[0]: pairs.values / 2}
    return model.energies(model.layout.spread(pairs.shapes))


def _part_modes(part: Part, start: FloatArray, *, wanted: int) -> Eigenpairs:
    """Return the lowest modes of one part, as columns of the part."""
    columns = part.folded(start)
    size = np.linalg.norm(columns, axis=0)
    columns = columns[:, size > 1e-6 * size.max()]
    model = part.model
    return lowest_eigenpairs(
        model.factor.solve, model.apply_mass, start=columns, wanted=wanted, shift=model.shift
    )


def static_compliance(model: Model) -> FloatArray:
    """Return the static receptance at the edge [m/N], shape (3, 3): solved, not summed from modes."""
    total = np.zeros((3, 3))
    for part in model.parts:
        total += part.model.edge_loads.T @ part.model.factor.solve(part.model.edge_loads)
    return (total + total.T) / 2


def _start_shapes(points: FloatArray, *, spare: int) -> FloatArray:
    """Return bar-like motions and some without any symmetry, shape (n_points, 3, 4 + spare)."""
    low, high = points.min(axis=0), points.max(axis=0)
    x = (points[:, 0] - low[0]) / (high[0] - low[0])
    y, z = (points[:, 1:] - (low[1:] + high[1:]) / 2).T
    swing, tilt, twist = x**2 * (3 - x), (6 * x - 3 * x**2) / (high[0] - low[0]), np.sin(np.pi / 2 * x)
    out = np.zeros((len(points), 3, 4 + spare))
    out[:, 1, 0], out[:, 0, 0] = swing, -tilt * y
    out[:, 2, 1], out[:, 0, 1] = swing, -tilt * z
    out[:, 1, 2], out[:, 2, 2] = -twist * z, twist * y
    out[:, 0, 3] = twist
    out[:, :, 4:] = np.random.default_rng(_SEED).standard_normal((len(points), 3, spare))
    return out
