"""The limit at given spindle speeds, and the lobes for drawing.

At a speed with revolution time tau the wave must fit: ``s (1 - exp(-i w tau)) lambda(w) = -1``. Each
frequency with Re lambda < 0 has one s and one phase theta; it counts at that speed when
``w tau = theta + 2 pi j`` for a whole number j.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.lobes import wave_phase
from stickout.fem.chatter.loop import eigenvalue_pair, felt_directions, loop_matrix, tracked_eigenvalues
from stickout.fem.chatter.receptance import ComplexArray, ModalModel
from stickout.fem.chatter.stability import Limit, margin_from_real
from stickout.fem.chatter.valleys import frequency_grid, nodes_with_valleys
from stickout.fem.force.checks import check_speeds

FloatArray = NDArray[np.float64]
T = TypeVar("T", np.float64, np.complex128)

_CANDIDATES = 6
_PER_MODE = 96
"""Three times the nodes of the absolute limit, so that close eigenvalues are not taken for one another."""
_BISECTIONS = 40
_FIT = 1e-6
"""Largest misfit of the wave [rad]: a step in which the phase jumps over a whole number is no answer."""


def limits_at_speeds(
    model: ModalModel,
    matrix: FloatArray,
    *,
    speeds_rpm: Sequence[float],
    flank: FloatArray | None = None,
) -> Limit:
    """Return the margin at each spindle speed.

    Parameters
    ----------
    model
        The modal model, one or a batch.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (3, 3) or (..., 3, 3).
    speeds_rpm
        Spindle speeds [rpm], shape (n_speeds,).
    flank
        Damping of the rubbing flank in the bar frame [N s/m], shape (3, 3), the same at every speed given;
        None: no rubbing.

    Returns
    -------
    Limit
        Margin [-] and chatter frequency, shape (..., n_speeds).

    Raises
    ------
    InputError
        The list is empty or has a speed that is not above zero.

    Notes
    -----
    Frequencies from 0.3 times the lowest to 4 times the highest mode are searched.

    Source
    ------
    Phase condition of the delayed equation (computed here).
    """
    speeds = check_speeds(speeds_rpm)
    grid = frequency_grid(model, felt_directions(matrix), per_mode=_PER_MODE)
    # With the bottoms of the valleys among the nodes the nearest fitting wave on either side is found.
    w = nodes_with_valleys(model, matrix, grid=grid, flank=flank)
    lam = tracked_eigenvalues(loop_matrix(model, matrix, w=w, flank=flank))
    cells = _Cells.between(w, lam, 60.0 / speeds)
    return _refined(lambda w: loop_matrix(model, matrix, w=w, flank=flank), cells.best())


@dataclass(frozen=True)
class _Cells:
    """Steps between nodes with, at each speed, the whole wave nearest to their lower end.

    Arrays have shape (..., n_speeds, n): frequencies and eigenvalues at both ends, waves, estimate of
    the real part at the fitting frequency (inf where no wave fits), and the time of one turn.
    """

    left: FloatArray
    right: FloatArray
    lam_left: ComplexArray
    lam_right: ComplexArray
    waves: FloatArray
    real: FloatArray
    turn: FloatArray

    @staticmethod
    def between(w: FloatArray, lam: ComplexArray, turn: FloatArray) -> _Cells:
        """Return the cells between sorted frequencies (..., n_w) with eigenvalues (..., 2, n_w)."""
        ends = _ends(w, lam)
        left, lam_left, right, lam_right = (x.reshape(*x.shape[:-2], 1, -1) for x in ends)
        start, stop = (
            (x * turn[:, None] - wave_phase(at)) / (2.0 * np.pi)
            for x, at in ((left.real, lam_left), (right.real, lam_right))
        )
        waves = _nearest_whole(start, stop, lam_left.real <= lam_right.real)
        step = stop - start
        share = np.clip((waves - start) / np.where(step == 0.0, 1.0, step), 0.0, 1.0)
        real = lam_left.real + share * (lam_right.real - lam_left.real)
        fits = np.isfinite(waves) & (np.minimum(lam_left.real, lam_right.real) < 0.0)
        # The search gets the whole step: where the sign turns was an estimate only.
        low, high = _steps(w[..., None, :], lam.shape)
        lam_low, lam_high = _steps(lam, lam.shape)
        return _Cells(
            left=np.broadcast_to(low, fits.shape),
            right=np.broadcast_to(high, fits.shape),
            lam_left=np.broadcast_to(lam_low, fits.shape),
            lam_right=np.broadcast_to(lam_high, fits.shape),
            waves=waves,
            real=np.where(fits, real, np.inf),
            turn=np.broadcast_to(turn[:, None], fits.shape),
        )

    def best(self) -> _Cells:
        """Return the few cells at each speed with the most negative estimate."""
        pick = np.argpartition(self.real, _CANDIDATES, axis=-1)[..., :_CANDIDATES]
        return _Cells(
            *(np.take_along_axis(getattr(self, name), pick, axis=-1) for name in self.__annotations__)
        )


def _steps(x: NDArray[T], shape: tuple[int, ...]) -> tuple[NDArray[T], NDArray[T]]:
    """Return the values at both ends of each step, branches joined: shape (..., 1, 2 (n_w - 1))."""
    x = np.broadcast_to(x, shape)
    left, right = x[..., :-1], x[..., 1:]
    joined = (*shape[:-2], 1, 2 * (shape[-1] - 1))
    return left.reshape(joined), right.reshape(joined)


def _ends(w: FloatArray, lam: ComplexArray) -> tuple[ComplexArray, ...]:
    """Return frequency and eigenvalue at both ends of each step, moved to where the real part turns sign."""
    w = np.broadcast_to(w[..., None, :], lam.shape)
    a, b, wa, wb = lam[..., :-1], lam[..., 1:], w[..., :-1], w[..., 1:]
    change = a.real * b.real < 0.0
    share = np.where(change, a.real / np.where(change, a.real - b.real, 1.0), 0.0)
    w_zero, lam_zero = wa + share * (wb - wa), a + share * (b - a)
    cut_left, cut_right = change & (a.real > 0.0), change & (b.real > 0.0)
    left, right = np.where(cut_left, w_zero, wa), np.where(cut_right, w_zero, wb)
    return (
        left.astype(np.complex128),
        np.where(cut_left, lam_zero, a),
        right.astype(np.complex128),
        np.where(cut_right, lam_zero, b),
    )


def _nearest_whole(start: FloatArray, end: FloatArray, from_start: NDArray[np.bool_]) -> FloatArray:
    """Return the whole number between start and end nearest to the chosen end, inf where there is none."""
    near, far = np.where(from_start, start, end), np.where(from_start, end, start)
    whole = np.where(far > near, np.ceil(near), np.floor(near))
    inside = (whole >= np.minimum(near, far)) & (whole <= np.maximum(near, far)) & (whole >= 0.0)
    return np.where(inside, whole, np.inf)


def _refined(loop: Callable[[FloatArray], ComplexArray], cells: _Cells) -> Limit:
    """Return the limit at each speed from its candidate cells, by bisection on the phase condition."""
    shape = cells.real.shape
    low, high = cells.left, cells.right
    found = np.isfinite(cells.real)
    waves = np.where(found, cells.waves, 0.0)
    span = np.where(cells.right > cells.left, cells.right - cells.left, 1.0)

    def eigenvalue(w: FloatArray) -> ComplexArray:
        flat = w.reshape(*shape[:-2], -1)
        half, distance = (x.reshape(shape) for x in eigenvalue_pair(loop(flat)))
        guess = cells.lam_left + (w - cells.left) / span * (cells.lam_right - cells.lam_left)
        near_plus = np.abs(half + distance - guess) <= np.abs(half - distance - guess)
        return np.where(near_plus, half + distance, half - distance)

    def misfit(w: FloatArray, lam: ComplexArray) -> FloatArray:
        return np.asarray(w * cells.turn - wave_phase(lam) - 2.0 * np.pi * waves)

    rises = misfit(high, eigenvalue(high)) > misfit(low, eigenvalue(low))
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        go_left = (misfit(middle, eigenvalue(middle)) > 0.0) == rises
        low, high = np.where(go_left, low, middle), np.where(go_left, middle, high)
    w = 0.5 * (low + high)
    lam = eigenvalue(w)
    found &= np.abs(misfit(w, lam)) < _FIT
    margin = np.where(found, margin_from_real(lam.real), np.inf)
    pick = np.argmin(margin, axis=-1)[..., None]
    return Limit(
        margin=np.take_along_axis(margin, pick, axis=-1)[..., 0],
        omega=np.take_along_axis(w, pick, axis=-1)[..., 0],
    )
