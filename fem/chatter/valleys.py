"""Where the smallest real part of the eigenvalues of G A lies deepest over frequency.

The receptance on the grid does not depend on the cut: made once, it serves every depth and feed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import lowest_real, lowest_rubbed, lowest_seen
from stickout.fem.chatter.receptance import ComplexArray, ModalModel, frequency_nodes, projected_receptance

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_VALLEYS = 3
# A valley that is not even this part as deep as the deepest at the nodes will not be deeper between them.
_SHALLOW = 0.1
_ZOOM = np.arange(-4.0, 5.0)
_AROUND = np.arange(-1.0, 2.0)
# Each parabola is this many times as narrow as the one before.
_CLOSER = 8.0


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
    return lowest_real(loop) if flank is None else lowest_rubbed(loop, _pushed(grid, flank), w=grid.nodes)


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
    rounds: int = 3,
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
    rounds
        Parabolas that are moved to before the last: 3 leave 1e-11 of the margin, 2 1e-8, 1 some 1e-6.
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (..., 3, 3); None: no rubbing.

    Returns
    -------
    tuple of ndarray
        Real parts [-] and angular frequencies [rad/s], shape (..., k), not sorted: one to three valleys, as
        many as that model of a batch has with the most that count.

    Source
    ------
    Grid search with one nine-point zoom, then successive parabolas (computed here). The smaller of two smooth
    curves has its minima where it is smooth.
    """
    lowest = lowest_seen(model, matrix, rows=grid.rows, flank=flank)

    def around(centre: FloatArray, step: FloatArray, steps: FloatArray) -> tuple[FloatArray, FloatArray]:
        trial = centre[..., None] + step[..., None] * steps
        return trial, lowest(trial.reshape(*trial.shape[:-2], -1)).reshape(trial.shape)

    centre, span = _bottoms(grid, real_on_grid(grid, matrix, flank=flank))
    step = span / _ZOOM[-1]
    trial, real = around(centre, step, _ZOOM)
    at = np.clip(np.argmin(real, axis=-1), 1, len(_ZOOM) - 2)
    centre, three = _along(trial, at), [_along(real, at + k) for k in (-1, 0, 1)]
    for _ in range(rounds):
        centre, step = centre + _vertex(*three)[0] * step, step / _CLOSER
        real = around(centre, step, _AROUND)[1]
        three = [real[..., k] for k in range(len(_AROUND))]
    shift, depth = _vertex(*three)
    return depth, centre + shift * step


def _bottoms(grid: Grid, real: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the lowest nodes of the deepest valleys, and how far it is to their farther neighbours."""
    is_low = np.ones(real.shape, dtype=bool)  # a valley may bottom out between the first two nodes
    rises = real[..., 1:] >= real[..., :-1]
    is_low[..., :-1] &= rises
    is_low[..., 1:] &= ~rises
    low = np.where(is_low, real, np.inf)
    counts = (low < _SHALLOW * low.min(axis=-1, keepdims=True)).sum(axis=-1)
    wanted = int(min(max(counts.max(), 1), _VALLEYS))
    chosen = (
        np.argmin(low, axis=-1)[..., None]
        if wanted == 1
        else np.argpartition(low, wanted - 1, axis=-1)[..., :wanted]
    )
    chosen = np.clip(chosen, 1, real.shape[-1] - 2)
    nodes = np.broadcast_to(grid.nodes, real.shape)
    left, centre, right = (_along(nodes, chosen + k) for k in (-1, 0, 1))
    return centre, np.maximum(right - centre, centre - left)


def _along(values: FloatArray, at: IntArray) -> FloatArray:
    """Return values at places on their last axis: ``take_along_axis``, five times sooner on small arrays."""
    flat = values.reshape(-1, values.shape[-1])
    rows = np.arange(len(flat))[:, None]
    picked = flat[rows, at.reshape(len(flat), -1)].reshape(at.shape)
    return np.asarray(picked)


def _vertex(left: FloatArray, middle: FloatArray, right: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the parabola through three values a step apart is least, in steps, and its value there.

    At most one step from the middle: a parabola that opens downward, or is least farther off, says which way
    to go and no more.
    """
    bend, slope = left - 2.0 * middle + right, 0.5 * (right - left)
    inside = np.abs(slope) <= bend
    safe = np.where(inside & (bend > 0.0), bend, 1.0)
    shift = np.where(inside, -slope / safe, -np.sign(slope))
    least = np.minimum(np.minimum(left, middle), right)
    return shift, np.where(inside, np.minimum(middle - 0.5 * slope * slope / safe, least), least)


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
        Angular frequencies [rad/s], shape (..., n_w + k), k valleys.

    Source
    ------
    Own choice of grid (computed here).
    """
    low = valleys(model, matrix, grid=grid, flank=flank)[1]
    nodes = np.broadcast_to(grid.nodes, (*low.shape[:-1], grid.nodes.shape[-1]))
    return np.sort(np.concatenate([nodes, low], axis=-1), axis=-1)
