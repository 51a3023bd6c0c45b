"""The receptance of the edge at any frequency, batched over samples, an absorber on the tool included."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from stickout.fem.chatter.attached import attached_share, resonances
from stickout.fem.chatter.modal import (
    Attached,
    ComplexArray,
    FloatArray,
    ModalModel,
    modal_static,
    modal_sums,
    mode_response,
    residual,
)
from stickout.meshes.errors import InputError

__all__ = [
    "Attached",
    "ComplexArray",
    "FloatArray",
    "ModalModel",
    "frequency_nodes",
    "modal_static",
    "mode_response",
    "projected_receptance",
    "projection",
    "receptance",
    "relative_model",
    "residual",
]


def projected_receptance(
    model: ModalModel, w: FloatArray, *, left: FloatArray, right: FloatArray
) -> ComplexArray:
    """Return ``left G(w) right`` without forming the full receptance.

    Parameters
    ----------
    model
        The modal model.
    w
        Angular frequencies [rad/s], shape (..., n_w).
    left
        Rows that read the motion, shape (..., a, 3).
    right
        Columns that apply the force, shape (..., 3, b).

    Returns
    -------
    ndarray
        Projected receptance [m/N times the units of left and right], shape (..., a, b, n_w): the
        frequencies come last, so that every entry is one run of memory.

    Source
    ------
    Modal superposition with static correction; an absorber by an exact update (computed here).
    """
    return projection(model, left=left, right=right)(w)


def projection(
    model: ModalModel, *, left: FloatArray, right: FloatArray
) -> Callable[[FloatArray], ComplexArray]:
    """Return ``projected_receptance`` as a function of the frequency, for many calls: parameters as there."""
    rest = (left @ residual(model) @ right)[..., None]
    sums = modal_sums(read=model.phi @ np.swapaxes(left, -1, -2), push=model.phi @ right)

    def at(w: FloatArray) -> ComplexArray:
        response = mode_response(model, w)
        out = sums(response)
        out += rest
        if model.attached is None:
            return out
        return out + attached_share(model, w, response=response, left=left, right=right)

    return at


def receptance(model: ModalModel, w: FloatArray) -> ComplexArray:
    """Return the receptance at the edge: displacement per force in the bar frame.

    Parameters
    ----------
    model
        The modal model.
    w
        Angular frequencies [rad/s], shape (..., n_w).

    Returns
    -------
    ndarray
        Receptance [m/N], shape (..., 3, 3, n_w).

    Source
    ------
    ISO 7626-1, definition of receptance (recalled, not opened).
    """
    return projected_receptance(model, w, left=np.eye(3), right=np.eye(3))


def relative_model(tool: ModalModel, work: ModalModel) -> ModalModel:
    """Return the model of the motion between tool and work: their receptances added.

    Parameters
    ----------
    tool
        Modal model of the edge.
    work
        Modal model of the work at the cut, in the same frame and with the same damping law.

    Returns
    -------
    ModalModel
        Modes of both, static compliances added.

    Raises
    ------
    InputError
        The two use different damping laws.

    Source
    ------
    Koenigsberger & Tlusty, Machine Tool Structures (1970) (recalled, not opened).
    """
    if tool.viscous != work.viscous:
        raise InputError(
            key="work damping",
            given="viscous" if work.viscous else "structural",
            allowed="the same law as the tool's",
            mend="Build both modal models with the same damping law.",
        )
    hung = tool.attached
    if hung is not None:  # the work's modes leave its place still
        still = np.zeros((*hung.phi.shape[:-2], work.omega.shape[-1], hung.phi.shape[-1]))
        hung = replace(hung, phi=np.concatenate([hung.phi, still], axis=-2))
    return replace(
        tool,
        attached=hung,
        omega=np.concatenate([tool.omega, work.omega], axis=-1),
        phi=np.concatenate([tool.phi, work.phi], axis=-2),
        eta=np.concatenate([tool.eta, work.eta], axis=-1),
        static=tool.static + work.static,
    )


def frequency_nodes(model: ModalModel, *, per_mode: int = 32) -> FloatArray:
    """Return frequencies that resolve every resonance, sorted.

    Around each mode the steps grow from a fraction of its half width to the distance from it
    (``omega (1 + eta/2 sinh u)`` with even steps of u), from 0.3 to 4 times its frequency; those of one mode
    lie between those of another, so that equal modes have no frequency twice. With an absorber the modes are
    those of both together.

    Parameters
    ----------
    model
        The modal model.
    per_mode
        Frequencies for each mode; from 24 on 3000 models with nearly equal modes agreed with 400 to 1e-8.

    Returns
    -------
    ndarray
        Angular frequencies [rad/s], shape (..., n * per_mode); n counts the absorber's directions too.

    Source
    ------
    Own choice of grid (computed here).
    """
    omega, eta = resonances(model)
    half = 0.5 * eta[..., None]
    below, above = np.arcsinh(0.7 / half), np.arcsinh(3.0 / half)
    n = omega.shape[-1]
    place = (np.arange(per_mode) + np.arange(n)[:, None] / n) / (per_mode - 1.0 / n)
    u = -below + (below + above) * place
    w = omega[..., None] * (1.0 + half * np.sinh(u))
    return np.sort(w.reshape(*w.shape[:-2], -1), axis=-1)
