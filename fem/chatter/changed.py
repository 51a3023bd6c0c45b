"""A modal model changed: softer or stiffer as a whole, or with fewer modes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.modal import ModalModel


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
