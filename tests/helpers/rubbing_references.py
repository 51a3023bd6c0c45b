"""Textbook laws of a rubbing flank that the tests compare the program with."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.force.nose import EngagedEdge
from stickout.meshes.tagged import FloatArray


def rubbing_coefficient(contact: float, land: float, *, speed: float) -> float:
    """Return the damping that the flank adds for each metre of edge, ``Ksp Lw^2 / (4 v)``.

    Parameters
    ----------
    contact
        Flank contact coefficient Ksp [N/m^3], 1.5e13 to 4.1e14.
    land
        Length of the wear land Lw [m].
    speed
        Cutting speed [m/s].

    Returns
    -------
    float
        Damping along the local normal [N s/m^2].

    Raises
    ------
    InputError
        The speed is not above zero.

    Source
    ------
    Wu 1989; Chiou & Liang 1998 (recalled, not opened); small waves only.
    """
    return contact * land**2 / (4.0 * speed)


def rubbed_width_limit(
    stiffness: float, damping_ratio: float, *, omega: float, thrust: float, rubbing: float
) -> float | None:
    """Return the width limit of one mode with the flank's rubbing added to its damping.

    Root of ``Kr b = 2 k z (1 + z)`` with ``z = zeta + c b omega / (2 k)``.

    Parameters
    ----------
    stiffness
        Modal stiffness along the normal k [N/m].
    damping_ratio
        Damping ratio without the rubbing zeta [-].
    omega
        Angular frequency of the mode [rad/s].
    thrust
        Tangent coefficient of the thrust Kr [Pa].
    rubbing
        Damping for each metre of edge c [N s/m^2], see ``rubbing_coefficient``.

    Returns
    -------
    float or None
        Width [m]; None where no width chatters.

    Source
    ------
    Wu 1989 (recalled, not opened); the root computed here.
    """
    gain = rubbing * omega / (2.0 * stiffness)
    square = 2.0 * stiffness * gain**2
    linear = 2.0 * stiffness * gain * (1.0 + 2.0 * damping_ratio) - thrust
    constant = 2.0 * stiffness * damping_ratio * (1.0 + damping_ratio)
    inside = linear**2 - 4.0 * square * constant
    if linear >= 0.0 or inside < 0.0:
        return None
    # This form of the smaller root also holds for no rubbing, where the square term is zero.
    return float(2.0 * constant / (-linear + np.sqrt(inside)))


def with_rubbing(model: ModalModel, widths: FloatArray, *, rubbing: float) -> ModalModel:
    """Return the modal model with the flank's rubbing added to the loss of each mode.

    ``eta_r + phi_r . C . phi_r / omega_r`` with ``C = c int n n^T dl``.

    Parameters
    ----------
    model
        The modal model.
    widths
        Integral of the local normal times itself along the edge [m], bar frame, shape (3, 3).
    rubbing
        Damping for each metre of edge c [N s/m^2].

    Returns
    -------
    ModalModel
        The same modes with more loss: good near each resonance, a trend at best.

    Source
    ------
    First-order energy balance (computed here).
    """
    added = rubbing * np.einsum("...ni,ij,...nj->...n", model.phi, widths, model.phi) / model.omega
    return replace(model, eta=model.eta + added)


def normal_widths(edge: EngagedEdge) -> FloatArray:
    """Return ``int n n^T dl`` in the axes (p, c, f).

    Parameters
    ----------
    edge
        The engaged edge, one depth.

    Returns
    -------
    ndarray
        Matrix [m], shape (3, 3); turn it with ``matrix_in_bar_frame``.

    Source
    ------
    Definition (computed here).
    """
    pp, pf, ff = float(edge.width_pp), float(edge.width_pf), float(edge.width_ff)
    return np.array([[pp, 0.0, pf], [0.0, 0.0, 0.0], [pf, 0.0, ff]])
