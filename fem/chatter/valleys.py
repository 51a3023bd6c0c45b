"""Where the smallest real part of the eigenvalues of G A lies deepest over frequency.

The receptance on the grid does not depend on the cut: made once, it serves every depth and feed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import lowest_real, rubbed_loop, seen_loop
from stickout.fem.chatter.receptance import ComplexArray, ModalModel, frequency_nodes, projected_receptance

FloatArray = NDArray[np.float64]

_VALLEYS = 3
_STEPS = np.linspace(-1.0, 1.0, 9)


@dataclass(frozen=True)
class Grid:
    """Frequencies that resolve the resonances of a model, and its receptance there.

    Attributes
    ----------
    nodes
        Sorted angular frequencies [rad/s], shape (..., n_w).
    rows
        Orthonormal directions of the motions the cut feels, shape (2, 3).
    receptance
        ``rows G`` at the nodes [m/N], shape (..., 2, 3, n_w).
    """

    nodes: FloatArray
    rows: FloatArray
    receptance: ComplexArray


def frequency_grid(model: ModalModel, rows: FloatArray, *, per_mode: int = 32) -> Grid:
    """Return the grid of a model.

    Parameters
    ----------
    model
        The modal model, one or a batch.
    rows
        Directions of the motions the cut feels, shape (2, 3), see ``felt_directions``.
    per_mode
        Frequencies for each mode.

    Returns
    -------
    Grid
        Frequencies and receptance.

    Source
    ------
    Own choice of grid (computed here).
    """
    nodes = frequency_nodes(model, per_mode=per_mode)
    seen = projected_receptance(model, nodes, left=rows, right=np.eye(3))
    return Grid(nodes=nodes, rows=rows, receptance=seen)


def real_on_grid(grid: Grid, matrix: FloatArray, *, flank: FloatArray | None = None) -> FloatArray:
    """Return the smallest real part of the eigenvalues of G A at the nodes.

    Parameters
    ----------
    grid
        The grid.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    ndarray
        Real parts [-], shape (..., n_w).

    Source
    ------
    Non-zero eigenvalues of XY and YX agree (computed here).
    """
    loop = _pushed(grid, matrix)
    if flank is not None:
        loop = rubbed_loop(loop, _pushed(grid, flank), w=grid.nodes)
    return lowest_real(loop)


def _pushed(grid: Grid, matrix: FloatArray) -> ComplexArray:
    """Return ``rows G matrix rows^T`` at the nodes, shape (..., 2, 2, n_w)."""
    push = grid.rows @ np.swapaxes(matrix, -1, -2)
    # Real and imaginary parts as one run of real numbers: the matrix is real, so one real product does both.
    loop = push[..., None, :, :] @ grid.receptance.view(np.float64)
    return loop.view(np.complex128)


def valleys(
    model: ModalModel,
    matrix: FloatArray,
    *,
    grid: Grid,
    zooms: int = 7,
    flank: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Return the deepest minima of the smallest real part over frequency, each one refined.

    Parameters
    ----------
    model
        The modal model.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    grid
        The model's grid.
    zooms
        Rounds of refinement; each cuts the error to a sixteenth.
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    tuple of ndarray
        Real parts [-] and angular frequencies [rad/s], shape (..., 3), not sorted.

    Source
    ------
    Grid search with nine-point zooms (computed here).
    """
    real = real_on_grid(grid, matrix, flank=flank)
    nodes = np.broadcast_to(grid.nodes, real.shape)
    inner = np.full(real.shape, np.inf)
    is_low = (real[..., 1:-1] <= real[..., :-2]) & (real[..., 1:-1] <= real[..., 2:])
    inner[..., 1:-1] = np.where(is_low, real[..., 1:-1], np.inf)
    chosen = np.argpartition(inner, _VALLEYS, axis=-1)[..., :_VALLEYS]
    chosen = np.clip(chosen, 1, real.shape[-1] - 2)
    centre, left, right = (np.take_along_axis(nodes, chosen + k, axis=-1) for k in (0, -1, 1))
    best = np.take_along_axis(real, chosen, axis=-1)
    span = np.maximum(right - centre, centre - left)
    for _ in range(zooms):
        trial = centre[..., None] + span[..., None] * _STEPS
        flat = trial.reshape(*trial.shape[:-2], -1)
        loop = seen_loop(model, matrix, w=flat, rows=grid.rows, flank=flank)
        value = lowest_real(loop).reshape(trial.shape)
        pick = np.argmin(value, axis=-1)[..., None]
        centre = np.take_along_axis(trial, pick, axis=-1)[..., 0]
        best = np.take_along_axis(value, pick, axis=-1)[..., 0]
        span = span / 4.0
    return best, centre


def nodes_with_valleys(
    model: ModalModel, matrix: FloatArray, *, grid: Grid, flank: FloatArray | None = None
) -> FloatArray:
    """Return the grid's frequencies with the bottoms of the valleys among them, sorted.

    Parameters
    ----------
    model
        The modal model.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (..., 3, 3).
    grid
        The model's grid.
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    ndarray
        Angular frequencies [rad/s], shape (..., n_w + 3).

    Source
    ------
    Own choice of grid (computed here).
    """
    low = valleys(model, matrix, grid=grid, flank=flank)[1]
    nodes = np.broadcast_to(grid.nodes, (*low.shape[:-1], grid.nodes.shape[-1]))
    return np.sort(np.concatenate([nodes, low], axis=-1), axis=-1)
