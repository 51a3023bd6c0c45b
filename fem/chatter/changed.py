"""A modal model changed: softer or stiffer as a whole, turned about the bar's axis, or with fewer modes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.modal import ModalModel
from stickout.meshes.tagged import FloatArray


def rescaled(model: ModalModel, *, note: float, stiffness: float) -> ModalModel:
    """Return a tool with all notes and stiffnesses changed by factors; a mass hung on it stays as it is.

    Parameters
    ----------
    model
        The modal model.
    note
        Factor of every frequency [-].
    stiffness
        Factor of every stiffness [-].

    Returns
    -------
    ModalModel
        ``phi`` and compliances follow; the absorber keeps mass, frequency and damping, so it is off tune.

    Source
    ------
    Definitions (computed here).
    """
    size = note / np.sqrt(stiffness)
    hung = model.attached
    if hung is not None:
        hung = replace(
            hung, phi=hung.phi * size, cross=hung.cross / stiffness, static=hung.static / stiffness
        )
    return replace(
        model,
        omega=model.omega * note,
        phi=model.phi * size,
        static=model.static / stiffness,
        attached=hung,
    )


def picked(model: ModalModel, keep: NDArray[np.bool_]) -> ModalModel:
    """Return the model with some of its modes; the others go into the residual.

    Parameters
    ----------
    model
        One modal model.
    keep
        Which modes stay, shape (n,).

    Returns
    -------
    ModalModel
        The smaller model, the same at rest.

    Source
    ------
    Definition (computed here).
    """
    hung = model.attached
    return replace(
        model,
        omega=model.omega[keep],
        phi=model.phi[keep],
        eta=model.eta[keep],
        attached=None if hung is None else replace(hung, phi=hung.phi[keep]),
    )


def turned(model: ModalModel, angles_deg: FloatArray) -> ModalModel:
    """Return one modal model turned about the bar's axis by several angles: bar and grip together.

    Parameters
    ----------
    model
        The modal model of one bar, no leading axes.
    angles_deg
        Angles about +x, right-hand rule [deg], shape (m,).

    Returns
    -------
    ModalModel
        A batch of m models; margins over it are the direction plot.

    Source
    ------
    Rotation of vectors and tensors (computed here).
    """
    angle = np.radians(angles_deg)
    turn = np.zeros((angle.size, 3, 3))
    turn[:, 0, 0] = 1.0
    turn[:, 1, 1] = turn[:, 2, 2] = np.cos(angle)
    turn[:, 2, 1] = np.sin(angle)
    turn[:, 1, 2] = -np.sin(angle)
    back = np.swapaxes(turn, -1, -2)
    hung = model.attached
    if hung is not None:  # it turns with the bar: only the edge's motion is told in other axes
        hung = replace(hung, cross=turn @ hung.cross)
    return replace(model, phi=model.phi @ back, static=turn @ model.static @ back, attached=hung)
