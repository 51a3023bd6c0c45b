"""The lowest modes of a held bar on one mesh."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.later import Later
from stickout.fem.solid.block_cholesky import Limits
from stickout.fem.solid.eigensearch import Eigenpairs
from stickout.fem.solid.model import Model
from stickout.fem.solid.searches import lowest_of_parts
from stickout.meshes.tagged import FloatArray, IntArray

# Modes beyond those asked for, so that an equal pair is not cut and the last one has converged.
SPARE = 2
TOLERANCE = 1e-7
_SEED = 20240229


@dataclass(frozen=True)
class Modes:
    """The lowest modes, mass-normalised.

    Attributes
    ----------
    frequency_hz
        Natural frequencies [Hz], rising, shape (n_modes,).
    drawn
        What ``shapes`` gives: of a solution without a mesh it is made when it is asked for.
    edge
        Motion of the edge [kg^-1/2], shape (n_modes, 3).
    energy
        Strain energy [J] of each mode in every region and tie, shape (n_modes,) each.
    residual
        Relative residual of each mode, shape (n_modes,); its square is about the error of the frequency's
        square. In the mass norm by the direct way, in the energy norm by iteration.
    part
        Which of ``model.parts`` each mode belongs to, shape (n_modes,).
    known_most
        What ``most`` gives where it is known without shapes.
    section
        Gives the mean motion of the bar's section at a distance from the holder face [m], (n_modes, 3), where
        that is known without shapes.
    """

    frequency_hz: FloatArray
    drawn: FloatArray | Later[FloatArray]
    edge: FloatArray
    energy: Mapping[str, FloatArray]
    residual: FloatArray
    part: IntArray
    known_most: FloatArray | None = None
    section: Callable[[float], FloatArray] | None = None

    @property
    def shapes(self) -> FloatArray:
        """Return the motion of the nodes [kg^-1/2], shape (n_modes, n_points, 3)."""
        return self.drawn.value if isinstance(self.drawn, Later) else self.drawn

    @property
    def most(self) -> FloatArray:
        """Return the motion of the point that moves most [kg^-1/2], shape (n_modes,)."""
        if self.known_most is not None:
            return self.known_most
        most: FloatArray = np.linalg.norm(self.shapes, axis=2).max(axis=1)
        return most

    @property
    def omega(self) -> FloatArray:
        """Return the natural frequencies [rad/s], shape (n_modes,)."""
        return 2 * np.pi * self.frequency_hz


def solve_modes(
    model: Model,
    n_modes: int = 6,
    *,
    spare: int = SPARE,
    limits: Limits | None = None,
    tolerance: float = TOLERANCE,
) -> Modes:
    """Return the lowest modes of a model.

    Parameters
    ----------
    model
        The held bar; a free body gives its six rigid motions first, at 0 Hz.
    n_modes
        How many are wanted.
    spare
        How many more are solved and returned behind them.
    limits
        Up to where parts are factored and past which they are solved by iteration, in place of the model's
        own: ``stickout.fem.solid.block_cholesky.DIRECTLY`` and ``BY_ITERATION`` force one way.
    tolerance
        Greatest relative error of the square of a frequency, as the iterations estimate it.

    Returns
    -------
    Modes
        ``n_modes + spare`` modes.

    Raises
    ------
    SolveError
        The stiffness is not positive, or the iteration did not converge.
    """
    if limits is not None:
        model = replace(model, limits=limits)
    start = start_shapes(model.mesh.points, spare=4 if len(model.parts) == 1 else 1)
    found = lowest_of_parts(model.parts, n_modes + spare, start=start, tolerance=tolerance)
    values = np.concatenate([f.values for f in found])
    part = np.repeat(np.arange(len(found)), [len(f.values) for f in found])
    order = np.argsort(values, kind="stable")[: n_modes + spare]
    shapes = np.concatenate(_whole_shapes(model, found), axis=2)[:, :, order]
    # A free body's zero comes out as rounding of the shift, of either sign.
    values = np.where(np.abs(values) < 1e-9 * max(model.shift, 1.0), 0.0, values)
    energy = _energies(model, found)
    return Modes(
        frequency_hz=np.sqrt(np.maximum(values[order], 0.0)) / (2 * np.pi),
        drawn=shapes.transpose(2, 0, 1),
        edge=model.face.motion(shapes).T,
        energy={name: np.concatenate([e[name] for e in energy])[order] for name in energy[0]},
        residual=np.concatenate([f.residuals for f in found])[order],
        part=part[order],
    )


def _whole_shapes(model: Model, found: Sequence[Eigenpairs]) -> list[FloatArray]:
    """Return the shapes of every part's modes on the whole, (n_points, 3, n) each."""
    shapes: list[FloatArray] = []
    for part, pairs in zip(model.parts, found, strict=True):
        equal = part.equal
        own = (
            part.whole(pairs.shapes, len(model.mesh.points))
            if equal is None
            else equal.shapes(shapes[equal.part])
        )
        shapes.append(own)
    return shapes


def _energies(model: Model, found: Sequence[Eigenpairs]) -> list[dict[str, FloatArray]]:
    """Return the strain energy [J] of every part's modes in every region and tie, as energy of the whole."""
    names = [*model.mesh.regions, *model.ties]
    if len(names) == 1:
        return [{names[0]: pairs.values / 2} for pairs in found]
    energy: list[dict[str, FloatArray]] = []
    for part, pairs in zip(model.parts, found, strict=True):
        own = part.model
        done = energy[part.equal.part] if part.equal else own.energies(own.layout.spread(pairs.shapes))
        energy.append(done)
    return energy


def static_compliance(model: Model, *, limits: Limits | None = None) -> FloatArray:
    """Return the static receptance at the edge [m/N], shape (3, 3): solved, not summed from modes.

    Parameters
    ----------
    model
        The held bar.
    limits
        As in ``solve_modes``.
    """
    if limits is not None:
        model = replace(model, limits=limits)
    total = np.zeros((3, 3))
    own: list[FloatArray] = []
    for part in model.parts:
        if part.equal:
            own.append(part.equal.compliance(own[part.equal.part]))
        else:
            own.append(part.model.own_compliance)
        total += own[-1]
    return (total + total.T) / 2


# Roots of the cantilever's bending, cos cosh = -1 (Blevins, Formulas for Natural Frequency and Mode Shape;
# recalled, not opened; they only start the iteration).
_CANTILEVER = (1.8751, 4.6941, 7.8548)


def start_shapes(points: FloatArray, *, spare: int) -> FloatArray:
    """Return bar-like motions and some without any symmetry, shape (n_points, 3, 12 + spare)."""
    low, high = points.min(axis=0), points.max(axis=0)
    length = high[0] - low[0]
    x = (points[:, 0] - low[0]) / length
    y, z = (points[:, 1:] - (low[1:] + high[1:]) / 2).T
    out = np.zeros((len(points), 3, 12 + spare))
    for n, b in enumerate(_CANTILEVER):
        s = (np.sinh(b) - np.sin(b)) / (np.cosh(b) + np.cos(b))
        swing = np.cosh(b * x) - np.cos(b * x) - s * (np.sinh(b * x) - np.sin(b * x))
        tilt = b / length * (np.sinh(b * x) + np.sin(b * x) - s * (np.cosh(b * x) - np.cos(b * x)))
        wave = np.sin((n + 0.5) * np.pi * x)
        first = 4 * n
        out[:, 1, first], out[:, 0, first] = swing, -tilt * y
        out[:, 2, first + 1], out[:, 0, first + 1] = swing, -tilt * z
        out[:, 1, first + 2], out[:, 2, first + 2] = -wave * z, wave * y
        out[:, 0, first + 3] = wave
    out[:, :, 12:] = np.random.default_rng(_SEED).standard_normal((len(points), 3, spare))
    return out
