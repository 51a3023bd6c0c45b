"""How far the cut's dynamic stiffness may grow before the cut is unstable at some speed.

``det(I + s (1 - exp(-i w tau)) G A) = 0``: an eigenvalue lambda of G A with a negative real part
gives ``s = -1 / (2 Re lambda)``; the smallest over all frequencies is the margin. Both signs of the
orientation are inside it: a mode pushed the wrong way gives its negative real part below resonance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.attached import mode_parts
from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.valleys import Grid, frequency_grid, valleys

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Limit:
    """A limit and the vibration at it.

    Attributes
    ----------
    margin
        Factor by which A may grow before the cut is unstable [-], inf where it never is, shape (...).
    omega
        Angular frequency of the chatter at the limit [rad/s], shape (...).
    """

    margin: FloatArray
    omega: FloatArray

    @property
    def chatter_hz(self) -> FloatArray:
        """Frequency of the chatter at the limit [Hz], shape (...)."""
        return np.asarray(self.omega / (2.0 * np.pi))


def margin_from_real(real: FloatArray) -> FloatArray:
    """Return ``-1 / (2 Re lambda)``, inf where the real part is not negative.

    Parameters
    ----------
    real
        Real parts of eigenvalues of G A [-].

    Returns
    -------
    ndarray
        Margins [-], the same shape.

    Source
    ------
    Tlusty & Poláček 1963 (recalled, not opened).
    """
    negative = real < 0.0
    return np.where(negative, -0.5 / np.where(negative, real, -1.0), np.inf)


def absolute_limit(model: ModalModel, matrix: FloatArray, *, flank: FloatArray | None = None) -> Limit:
    """Return the margin below which the cut is stable at every spindle speed.

    Parameters
    ----------
    model
        The modal model, one or a batch.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (3, 3) or (..., 3, 3).
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    Limit
        Margin [-] and chatter frequency, shape (...): how far A may grow while the flank stays as it is.

    Raises
    ------
    InputError
        A feels three directions.

    Notes
    -----
    Within 1e-9 of the closed form for one mode (tests/test_cut_stability.py).

    Source
    ------
    Altintas, Manufacturing Automation; Tlusty & Poláček 1963 (recalled, not opened).
    """
    return limit_on_grid(model, matrix, grid=frequency_grid(model, felt_directions(matrix)), flank=flank)


def limit_on_grid(
    model: ModalModel,
    matrix: FloatArray,
    *,
    grid: Grid,
    rounds: int = 3,
    flank: FloatArray | None = None,
) -> Limit:
    """Return the absolute limit with a grid that was made before, for many cuts of one model.

    Parameters
    ----------
    model
        The modal model, one or a batch.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (3, 3) or (..., 3, 3).
    grid
        Grid of the model whose rows span the motions the cut feels.
    rounds
        Rounds of refinement of each valley, see ``valleys``.
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    Limit
        Margin [-] and chatter frequency, shape (...).

    Source
    ------
    Altintas, Manufacturing Automation; Tlusty & Poláček 1963 (recalled, not opened).
    """
    real, omega = valleys(model, matrix, grid=grid, rounds=rounds, flank=flank)
    deepest = np.argmin(real, axis=-1)[..., None]
    real = np.take_along_axis(real, deepest, axis=-1)[..., 0]
    return Limit(margin=margin_from_real(real), omega=np.take_along_axis(omega, deepest, axis=-1)[..., 0])


def limiting_mode(model: ModalModel, limit: Limit, *, matrix: FloatArray) -> NDArray[np.int64]:
    """Return the index of the mode that feeds the chatter most at the limit.

    Parameters
    ----------
    model
        The modal model.
    limit
        The limit found for it.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).

    Returns
    -------
    ndarray
        Index from 0 of the mode with the most negative part in the trace of Re(G A), shape (...).

    Source
    ------
    Own measure (computed here); the sum over modes of the parts is the trace.
    """
    return np.asarray(np.argmin(mode_parts(model, matrix, omega=limit.omega), axis=-1))
