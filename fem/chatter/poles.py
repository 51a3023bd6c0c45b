"""Poles of a tool that the rubbing flank damps, without regeneration."""

from __future__ import annotations

import numpy as np

from stickout.fem.chatter.modal import ComplexArray, FloatArray, ModalModel


def rubbed_poles(model: ModalModel, flank: FloatArray) -> ComplexArray:
    """Return the poles of the modes with the damping of the rubbing flank; an absorber is left out.

    Parameters
    ----------
    model
        One modal model, damping taken as viscous.
    flank
        Damping of the flank in the bar frame [N s/m], shape (3, 3); friction makes it unsymmetric.

    Returns
    -------
    ndarray
        Poles [1/s], shape (2 n,): a real part of zero or above means that friction alone makes it sing.

    Source
    ------
    Eigenvalues of the first-order form of the equation of motion (computed here).
    """
    n = len(model.omega)
    state = np.zeros((2 * n, 2 * n))
    state[:n, n:] = np.eye(n)
    state[n:, :n] = -np.diag(model.omega**2)
    state[n:, n:] = -np.diag(model.eta * model.omega) - model.phi @ flank @ model.phi.T
    return np.asarray(np.linalg.eigvals(state)).astype(np.complex128)
