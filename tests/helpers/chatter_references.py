"""Closed forms and textbook routes of chatter that the tests compare the program with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.lobes import wave_phase
from stickout.fem.chatter.loop import felt_directions, loop_matrix, tracked_eigenvalues
from stickout.fem.chatter.receptance import ModalModel, projected_receptance
from stickout.fem.chatter.stability import Limit, absolute_limit, margin_from_real
from stickout.fem.chatter.valleys import frequency_grid, nodes_with_valleys
from stickout.meshes.errors import InputError
from stickout.meshes.tagged import FloatArray


def oriented_limit(
    model: ModalModel, *, normal: FloatArray, force_axis: FloatArray, coefficient: float
) -> Limit:
    """Return the limit of the edge width for a straight edge, ``-1 / (2 Ks min Re n.G.e)``.

    Parameters
    ----------
    model
        The modal model, one or a batch.
    normal
        Unit normal of the cut surface, from the tool into the work, shape (3,).
    force_axis
        Unit vector opposite to the force on the tool, shape (3,).
    coefficient
        Tangent coefficient of the resultant force Ks [Pa].

    Returns
    -------
    Limit
        ``margin`` is the edge width [m] that is stable at every speed; depth is width times sin(kappa_r).

    Raises
    ------
    InputError
        The coefficient is not above zero.

    Source
    ------
    Tlusty & Poláček 1963; Koenigsberger & Tlusty 1970 (recalled, not opened).
    """
    if not coefficient > 0.0:
        raise InputError(
            key="coefficient",
            given=coefficient,
            allowed="above 0 Pa",
            mend="Give the tangent coefficient Ks.",
        )
    return absolute_limit(model, coefficient * np.outer(force_axis, normal))


def oriented_receptance(
    model: ModalModel, w: FloatArray, *, normal: FloatArray, force_axis: FloatArray
) -> NDArray[np.complex128]:
    """Return ``n.G(w).e``: motion along the normal for a force along e.

    Parameters
    ----------
    model
        The modal model.
    w
        Angular frequencies [rad/s], shape (..., n_w).
    normal
        Unit normal of the cut surface, shape (3,).
    force_axis
        Unit vector opposite to the force on the tool, shape (3,).

    Returns
    -------
    ndarray
        Oriented receptance [m/N], shape (..., n_w).

    Source
    ------
    Koenigsberger & Tlusty 1970 (recalled, not opened).
    """
    return projected_receptance(model, w, left=normal[None, :], right=force_axis[:, None])[..., 0, 0, :]


def mode_margins(model: ModalModel, matrix: FloatArray) -> FloatArray:
    """Return the margin that each mode would have alone and without an absorber, in closed form.

    With ``d = phi.A.phi / omega^2``: structural ``eta / |d|``, viscous ``2 zeta (1 +- zeta) / |d|``,
    plus for a mode pushed the right way, minus for one pushed the wrong way.

    Parameters
    ----------
    model
        The modal model.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).

    Returns
    -------
    ndarray
        Margins [-], shape (..., n), inf for a mode the cut does not feed. The smallest belongs to the
        limiting mode.

    Source
    ------
    Exact one-mode theory; Tobias & Fishwick 1958 (recalled, not opened); both signs computed here.
    """
    drive = np.einsum("...ni,...ij,...nj->...n", model.phi, matrix, model.phi) / model.omega**2
    half = 0.5 * model.eta
    need = 2.0 * half * (1.0 + np.sign(drive) * half) if model.viscous else model.eta
    size = np.abs(drive)
    return np.where(size > 0.0, need / np.where(size > 0.0, size, 1.0), np.inf)


@dataclass(frozen=True)
class Boundary:
    """The boundary of stability along frequency.

    Attributes
    ----------
    omega
        Angular frequencies [rad/s], shape (..., n_w).
    margin
        Margin of both eigenvalues [-], inf where the real part is not negative, shape (..., 2, n_w).
    phase
        Phase between waves of successive revolutions [rad], 0 to 2 pi, shape (..., 2, n_w).
    """

    omega: FloatArray
    margin: FloatArray
    phase: FloatArray


@dataclass(frozen=True)
class Lobe:
    """One lobe for drawing: whole waves per turn, speeds [rpm] and margins [-], each of shape (2, n_w)."""

    number: int
    speed_rpm: FloatArray
    margin: FloatArray


def boundary(model: ModalModel, matrix: FloatArray, *, w: FloatArray | None = None) -> Boundary:
    """Return margin and phase along frequency.

    Parameters
    ----------
    model
        The modal model.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    w
        Sorted angular frequencies [rad/s], shape (..., n_w); None: a grid that resolves the resonances.

    Returns
    -------
    Boundary
        Margin and phase of both eigenvalues.

    Source
    ------
    Altintas, Manufacturing Automation (recalled, not opened); phase branch computed here.
    """
    if w is None:
        w = nodes_with_valleys(
            model, matrix, grid=frequency_grid(model, felt_directions(matrix), per_mode=200)
        )
    lam = tracked_eigenvalues(loop_matrix(model, matrix, w=w))
    return Boundary(omega=w, margin=margin_from_real(lam.real), phase=wave_phase(lam))


def lobes(edge: Boundary, numbers: Sequence[int]) -> list[Lobe]:
    """Return the lobes of the given numbers.

    Parameters
    ----------
    edge
        The boundary of one model, see ``boundary``.
    numbers
        Whole waves per turn, zero or above.

    Returns
    -------
    list of Lobe
        One for each number; in a gap of the boundary the margin is inf and the speed nan.

    Source
    ------
    ``n = 60 f / (j + theta / 2 pi)``; Tobias & Fishwick 1958 (recalled, not opened).
    """
    found = np.isfinite(edge.margin)
    turns = np.where(found, edge.phase, 2.0 * np.pi) / (2.0 * np.pi)
    per_minute = 60.0 * edge.omega[..., None, :] / (2.0 * np.pi)
    speeds = [np.where(found, per_minute / (j + turns), np.nan) for j in numbers]
    return [
        Lobe(number=j, speed_rpm=speed, margin=edge.margin) for j, speed in zip(numbers, speeds, strict=True)
    ]


def modes_only(omega: FloatArray, phi: FloatArray, *, eta: FloatArray, viscous: bool = False) -> ModalModel:
    """Return a modal model without a residual: the modes carry all of the static compliance."""
    scaled = phi / omega[..., None]
    return ModalModel(omega, phi, eta, np.swapaxes(scaled, -1, -2) @ scaled, viscous=viscous)
