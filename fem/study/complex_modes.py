"""Loss factors by the complex eigenvalue problem with structural damping, beside the energy shares.

``(K + i sum_j eta_j K_j) phi = lambda M phi``, ``lambda = omega^2 (1 + i eta_r)``. The problem is
projected on the real modes and on what the equation still misses of them, sent through ``K^-1``; that space
grows until the answer stands still. Nothing else of the damping is assumed: no Rayleigh terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eig

from stickout.fem.errors import SolveError
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.solid.solvable import Solvable
from stickout.meshes.tagged import FloatArray

ComplexArray = NDArray[np.complex128]

_MOST_ROUNDS = 12
_STILL = 1e-5


@dataclass(frozen=True)
class ComplexModes:
    """Frequencies ``sqrt(Re lambda)/2 pi`` [Hz] and loss factors ``Im/Re`` [-], shape (n_modes,) each."""

    frequency_hz: FloatArray
    loss_factor: FloatArray


def complex_modes(model: Model, modes: Modes, *, eta: Mapping[str, float]) -> ComplexModes:
    """Return the damped frequencies and loss factors of the modes.

    Parameters
    ----------
    model
        The held bar.
    modes
        Its real modes as solved: pairs not yet turned, each mode of one symmetry.
    eta
        Loss factor of every region, bed and joint [-].

    Returns
    -------
    ComplexModes
        In the order of the real modes.

    Raises
    ------
    SolveError
        The space grew to its limit and the loss factors still moved.

    Source
    ------
    Johnson & Kienholz, AIAA J. 20 (1982) 1284 for the problem (recalled, not opened); the growing
    space: computed here, held against a dense solution in the tests.
    """
    values = np.empty(len(modes.frequency_hz), dtype=np.complex128)
    for number, part in enumerate(model.parts):
        mine = modes.part == number
        if mine.any():
            columns = part.own(modes.shapes[mine].transpose(1, 2, 0))
            values[mine] = _part_values(part.model, columns, eta)
    return ComplexModes(np.sqrt(values.real) / (2 * np.pi), values.imag / values.real)


def _part_values(model: Solvable, block: FloatArray, eta: Mapping[str, float]) -> ComplexArray:
    """Return the complex eigenvalues of one part, from its real modes as columns."""
    kept = block.shape[1]
    block = block / np.sqrt(np.einsum("ij,ij->j", block, model.apply_mass(block)))
    space, stiff, lost, heavy = (np.empty((len(block), 0)) for _ in range(4))
    before = np.full(kept, np.inf)
    for _ in range(_MOST_ROUNDS):
        space = np.hstack([space, block])
        stiff = np.hstack([stiff, model.apply_stiffness(block)])
        lost = np.hstack([lost, model.weighted_stiffness(block, eta)])
        heavy = np.hstack([heavy, model.apply_mass(block)])
        values, shapes = _projected(space, stiff + 1j * lost, heavy, kept=kept)
        loss = values.imag / values.real
        moving = np.abs(loss - before) > _STILL * np.abs(loss) + 1e-12
        moved, before = float(np.abs(loss - before).max()), loss
        if not moving.any():
            return values
        # What the equation still misses, mass and losses alike, sent through the stiffness.
        missed = (stiff + 1j * lost) @ shapes[:, moving] - heavy @ shapes[:, moving] * values[moving]
        block = _new_part(model, space, model.inverse.solve(np.hstack([missed.real, missed.imag])))
        if not block.shape[1]:
            return values
    raise SolveError(
        f"The complex loss factors still moved by {moved:.1e} after {_MOST_ROUNDS} "
        "rounds. Lower the loss factors: above about 1 a mode is hardly a vibration."
    )


def _projected(
    space: FloatArray, stiff: ComplexArray, heavy: FloatArray, *, kept: int
) -> tuple[ComplexArray, ComplexArray]:
    """Return complex eigenvalues and shapes in a space that grew from the ``kept`` mass-normalised modes."""
    values, shapes = eig(space.T @ stiff, space.T @ heavy)
    # Each real mode is answered by the complex one that is most like it; the space starts with them.
    likeness = np.abs(shapes[:kept]) / np.linalg.norm(shapes, axis=0)
    picked: list[int] = []
    for row in likeness:
        row[picked] = -1.0
        picked.append(int(np.argmax(row)))
    return np.asarray(values[picked]), np.asarray(shapes[:, picked])


def _new_part(model: Solvable, space: FloatArray, block: FloatArray) -> FloatArray:
    """Return what a block adds to a mass-orthonormal space, mass-orthonormal."""
    for _ in range(2):
        block = block - space @ (space.T @ model.apply_mass(block))
    gram = block.T @ model.apply_mass(block)
    size, turn = np.linalg.eigh((gram + gram.T) / 2)
    keep = size > 1e-18
    return np.asarray(block @ (turn[:, keep] / np.sqrt(size[keep])))
