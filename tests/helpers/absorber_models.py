"""Modal models with an absorber, and their matrices written out, that the tests of it share."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from chatter_references import modes_only
from numpy.typing import NDArray

from stickout.fem.chatter.modal import Attached, ModalModel

FloatArray = NDArray[np.float64]


def hang(model: ModalModel, place: FloatArray, *, mass: float, hertz: float, zeta: float) -> ModalModel:
    """Return a model with an absorber on a place of motion (n, d), the modes carrying all its compliance."""
    scaled = place / model.omega[:, None] ** 2
    hung = Attached(
        phi=place,
        cross=model.phi.T @ scaled,
        static=place.T @ scaled,
        mass=np.asarray(mass),
        omega=np.asarray(2.0 * np.pi * hertz),
        zeta=np.asarray(zeta),
    )
    return replace(model, attached=hung)


def some_modes(seed: int = 5) -> tuple[ModalModel, FloatArray]:
    """Return five unlike modes and the motion of a place across the bar, (5, 2)."""
    rng = np.random.default_rng(seed)
    omega = 2.0 * np.pi * np.array([900.0, 950.0, 2500.0, 5200.0, 9000.0])
    phi = 4.0 * rng.normal(size=(5, 3))
    model = modes_only(omega, phi, eta=np.array([0.02, 0.05, 0.01, 0.03, 0.02]), viscous=True)
    return model, 3.0 * rng.normal(size=(5, 2))


def written_out(model: ModalModel) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return mass, damping and stiffness of modes and absorber, viscous, unknowns (q, v)."""
    hung = model.attached
    assert hung is not None
    n, d = hung.phi.shape
    mass, spring = float(hung.mass), float(hung.mass * hung.omega**2)
    dashpot = float(2.0 * hung.mass * hung.omega * hung.zeta)
    apart = np.hstack([hung.phi.T, -np.eye(d)])  # place less absorber
    M = np.diag(np.concatenate([np.ones(n), np.full(d, mass)]))
    C = np.diag(np.concatenate([model.eta * model.omega, np.zeros(d)])) + dashpot * apart.T @ apart
    K = np.diag(np.concatenate([model.omega**2, np.zeros(d)])) + spring * apart.T @ apart
    return M, C, K
