"""A mass on a spring and a dashpot hung on the tool: its exact share in the receptance of the edge.

The absorber pulls its place with ``D(w) u``, ``D = m w^2 (wa^2 + 2 i z wa w) / (wa^2 - w^2 + 2 i z wa w)``.
With G the receptance without it, e the edge and a the place, closing that loop gives
``G'_ee = G_ee + G_ea D (1 - G_aa D)^-1 G_ae``: an update of rank one in each direction it moves in.
"""

from __future__ import annotations

import numpy as np

from stickout.fem.chatter.modal import (
    Attached,
    ComplexArray,
    FloatArray,
    ModalModel,
    modal_sum,
    mode_response,
)
from stickout.meshes.errors import InputError


def pull(hung: Attached, w: FloatArray) -> ComplexArray:
    """Return the force with which the absorber pulls its place, for each metre the place moves.

    Parameters
    ----------
    hung
        The absorber.
    w
        Angular frequencies [rad/s], shape (..., n_w).

    Returns
    -------
    ndarray
        D [N/m], shape (..., n_w): ``m w^2`` for a stiff spring, zero for none.

    Source
    ------
    Den Hartog, Mechanical Vibrations (recalled, not opened); signs computed here.
    """
    mass, own, zeta = (np.asarray(one)[..., None] for one in (hung.mass, hung.omega, hung.zeta))
    spring = own**2 + 2j * zeta * own * w
    return np.asarray(mass * w**2 * spring / (spring - w**2))


def attached_share(
    model: ModalModel, w: FloatArray, *, response: ComplexArray, left: FloatArray, right: FloatArray
) -> ComplexArray:
    """Return what the absorber adds to ``left G(w) right``.

    Parameters
    ----------
    model
        The modal model, with an absorber.
    w
        Angular frequencies [rad/s], shape (..., n_w).
    response
        Response of its modes [s^2], shape (..., n, n_w).
    left
        Rows that read the motion, shape (..., a, 3).
    right
        Columns that apply the force, shape (..., 3, b).

    Returns
    -------
    ndarray
        Projected receptance to add, shape (..., a, b, n_w).

    Raises
    ------
    InputError
        The model has no absorber.

    Source
    ------
    Exact update of rank d, receptance coupling (computed here).
    """
    hung = _hung(model)
    rest = rest_across(model)
    seen = modal_sum(response, read=model.phi @ np.swapaxes(left, -1, -2), push=hung.phi)
    seen = seen + (left @ rest)[..., None]
    pushed = modal_sum(response, read=hung.phi, push=model.phi @ right)
    pushed = pushed + (np.swapaxes(rest, -1, -2) @ right)[..., None]
    inner = closed_pull(model, w, response=response)
    return np.asarray(np.einsum("...adw,...dew,...ebw->...abw", seen, inner, pushed))


def closed_pull(model: ModalModel, w: FloatArray, *, response: ComplexArray) -> ComplexArray:
    """Return ``D (1 - G_aa D)^-1``: the absorber's force for each metre its place would move without it.

    Parameters
    ----------
    model
        The modal model, with an absorber.
    w
        Angular frequencies [rad/s], shape (..., n_w).
    response
        Response of its modes [s^2], shape (..., n, n_w).

    Returns
    -------
    ndarray
        [N/m], shape (..., d, d, n_w).

    Raises
    ------
    InputError
        The model has no absorber.

    Source
    ------
    Inverse of a matrix of order one or two in closed form (computed here).
    """
    hung = _hung(model)
    d = hung.phi.shape[-1]
    at_place = modal_sum(response, read=hung.phi, push=hung.phi) + rest_at_place(model)[..., None]
    force = pull(hung, w)[..., None, None, :]
    left = np.eye(d)[..., None] - at_place * force
    if d == 1:
        return np.asarray(force / left)
    det = left[..., 0, 0, :] * left[..., 1, 1, :] - left[..., 0, 1, :] * left[..., 1, 0, :]
    adjugate = np.empty_like(left)
    adjugate[..., 0, 0, :], adjugate[..., 1, 1, :] = left[..., 1, 1, :], left[..., 0, 0, :]
    adjugate[..., 0, 1, :], adjugate[..., 1, 0, :] = -left[..., 0, 1, :], -left[..., 1, 0, :]
    return np.asarray(force * adjugate / det[..., None, None, :])


def rest_across(model: ModalModel) -> FloatArray:
    """Return the static motion of the edge for forces at the place that the modes do not reach.

    Parameters
    ----------
    model
        The modal model, with an absorber.

    Returns
    -------
    ndarray
        [m/N], shape (..., 3, d).

    Raises
    ------
    InputError
        The model has no absorber.

    Source
    ------
    Static correction of a truncated sum (computed here).
    """
    hung = _hung(model)
    scaled = model.phi / model.omega[..., None] ** 2
    return np.asarray(hung.cross - np.swapaxes(scaled, -1, -2) @ hung.phi)


def rest_at_place(model: ModalModel) -> FloatArray:
    """Return the static compliance at the place that the modes do not reach.

    Parameters
    ----------
    model
        The modal model, with an absorber.

    Returns
    -------
    ndarray
        [m/N], shape (..., d, d).

    Raises
    ------
    InputError
        The model has no absorber.

    Source
    ------
    Static correction of a truncated sum (computed here).
    """
    hung = _hung(model)
    scaled = hung.phi / model.omega[..., None]
    return np.asarray(hung.static - np.swapaxes(scaled, -1, -2) @ scaled)


def _hung(model: ModalModel) -> Attached:
    """Return the absorber, which must be there."""
    if model.attached is None:
        raise InputError(
            key="attached mass",
            given=None,
            allowed="a model with an absorber",
            mend="Hang one on, or use the plain receptance.",
        )
    return model.attached


def resonances(model: ModalModel) -> tuple[FloatArray, FloatArray]:
    """Return the frequencies and loss factors of the modes of tool and absorber together.

    Parameters
    ----------
    model
        The modal model; without an absorber its own are returned.

    Returns
    -------
    tuple of ndarray
        Angular frequencies [rad/s] and loss factors [-], shape (..., n + d); good for placing a grid:
        the dashpot counts as a loss factor ``2 zeta`` at the absorber's own frequency.

    Source
    ------
    Complex eigenvalues of ``K (1 + i eta)`` on the modes (computed here).
    """
    hung = model.attached
    if hung is None or not np.any(hung.mass > 0.0):
        return model.omega, model.eta
    n, d = hung.phi.shape[-2:]
    lead = np.broadcast_shapes(
        model.omega.shape[:-1], model.eta.shape[:-1], hung.phi.shape[:-2], np.shape(hung.mass),
        np.shape(hung.omega), np.shape(hung.zeta), hung.static.shape[:-2],
    )  # fmt: skip
    # The absorber's own coordinate is its motion times the root of its mass, so that masses are one.
    matrix = np.zeros((*lead, n + d, n + d), dtype=np.complex128)
    own = np.asarray(hung.omega**2 * (1.0 + 2j * hung.zeta))[..., None, None]
    root = np.sqrt(np.asarray(hung.mass))[..., None, None]
    across = hung.phi * root
    at = np.arange(n)
    matrix[..., at, at] = model.omega**2 * (1.0 + 1j * model.eta)
    matrix[..., :n, :n] += own * (across @ np.swapaxes(across, -1, -2))
    matrix[..., :n, n:] = -own * across
    matrix[..., n:, :n] = np.swapaxes(matrix[..., :n, n:], -1, -2)
    matrix[..., n:, n:] = own * np.eye(d)
    square = np.linalg.eigvals(matrix)
    omega = np.sqrt(np.maximum(square.real, 1e-6 * np.min(model.omega) ** 2))
    return omega, np.maximum(np.abs(square.imag) / omega**2, 1e-6)


def mode_parts(model: ModalModel, matrix: FloatArray, *, omega: FloatArray) -> FloatArray:
    """Return the part of each of the tool's modes in the trace of ``Re(G A)``, absorber included.

    Parameters
    ----------
    model
        The modal model, with or without an absorber.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    omega
        Angular frequency [rad/s], shape (...).

    Returns
    -------
    ndarray
        Parts [-], shape (..., n); with the residual's part they add up to the trace.

    Source
    ------
    Modal superposition (computed here).
    """
    w = np.asarray(omega)[..., None]
    response = mode_response(model, w)
    moved = model.phi.astype(np.complex128)
    if model.attached is not None:
        hung = model.attached
        inner = closed_pull(model, w, response=response)[..., 0]
        pushed = modal_sum(response, read=hung.phi, push=model.phi)[..., 0] + np.swapaxes(
            rest_across(model), -1, -2
        )
        moved = moved + hung.phi @ inner @ pushed
    drive = np.einsum("...ni,...ij,...nj->...n", moved, matrix, model.phi)
    return np.asarray((drive * response[..., 0]).real)
