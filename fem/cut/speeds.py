"""The limit at given spindle speeds, and the lobes for drawing.

At a speed with revolution time tau the wave must fit: ``s (1 - exp(-i w tau)) lambda(w) = -1``. Each
frequency with Re lambda < 0 has one s and one phase theta; it counts at that speed when
``w tau = theta + 2 pi j`` for a whole number j.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.cut.loop import eigenvalue_pair, loop_matrix, tracked_eigenvalues
from fem.cut.receptance import ComplexArray, ModalModel, frequency_nodes
from fem.cut.stability import Limit, margin_from_real, valleys
from meshes.errors import InputError

FloatArray = NDArray[np.float64]

_CANDIDATES = 6
_BISECTIONS = 40


@dataclass(frozen=True)
class Boundary:
    """The boundary of stability along frequency.

    Attributes
    ----------
    omega
        Angular frequencies [rad/s], shape (..., n_w).
    margin
        Margin of both eigenvalues [-], inf where the real part is not negative, shape (..., n_w, 2).
    phase
        Phase between waves of successive revolutions [rad], 0 to 2 pi, shape (..., n_w, 2).
    """

    omega: FloatArray
    margin: FloatArray
    phase: FloatArray


@dataclass(frozen=True)
class Lobe:
    """One lobe for drawing: whole waves per turn, speeds [rpm] and margins [-], each of shape (n_w, 2)."""

    number: int
    speed_rpm: FloatArray
    margin: FloatArray


def boundary(model: ModalModel, matrix: FloatArray, w: FloatArray | None = None) -> Boundary:
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
        nodes = frequency_nodes(model, per_mode=200)
        low = valleys(model, matrix, nodes)[1]
        w = np.sort(np.concatenate([np.broadcast_to(nodes, (*low.shape[:-1], nodes.shape[-1])), low], -1), -1)
    lam = tracked_eigenvalues(loop_matrix(model, matrix, w))
    return Boundary(omega=w, margin=margin_from_real(lam.real), phase=_phase(lam))


def _phase(lam: ComplexArray) -> FloatArray:
    """Return theta with ``s (1 - exp(-i theta)) lam = -1`` for Re lam < 0, else its end value."""
    return 2.0 * np.arctan2(np.maximum(-lam.real, 0.0), lam.imag)


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
        One for each number; margins are inf where the boundary has a gap.

    Source
    ------
    ``n = 60 f / (j + theta / 2 pi)``; Tobias & Fishwick 1958 (recalled, not opened).
    """
    turns = edge.phase / (2.0 * np.pi)
    per_minute = 60.0 * edge.omega[..., None] / (2.0 * np.pi)
    return [Lobe(number=j, speed_rpm=per_minute / (j + turns), margin=edge.margin) for j in numbers]


def waves_per_turn(omega: FloatArray | float, speed_rpm: FloatArray | float) -> FloatArray:
    """Return how many waves the chatter leaves on one turn of the work; below about 10 speed matters.

    Parameters
    ----------
    omega
        Angular frequency of the chatter [rad/s].
    speed_rpm
        Spindle speed [rpm].

    Returns
    -------
    ndarray
        Waves per turn [-].

    Source
    ------
    Kinematics (computed here).
    """
    return np.asarray(omega) * 60.0 / (2.0 * np.pi * np.asarray(speed_rpm))


def check_speeds(speeds_rpm: Sequence[float]) -> FloatArray:
    """Return the speeds as an array.

    Parameters
    ----------
    speeds_rpm
        Spindle speeds [rpm].

    Returns
    -------
    ndarray
        The same speeds, shape (n,).

    Raises
    ------
    InputError
        The list is empty or has a speed that is not above zero.

    Source
    ------
    The project's own rule.
    """
    speeds = np.asarray(speeds_rpm, dtype=np.float64)
    if speeds.size == 0 or not np.all(speeds > 0.0):
        raise InputError(
            key="speeds_rpm",
            given=list(speeds_rpm),
            allowed="at least one speed, each above 0 rpm",
            mend="List the speeds of your lathe's chart, or leave the key out.",
        )
    return speeds


def limits_at_speeds(model: ModalModel, matrix: FloatArray, speeds_rpm: Sequence[float]) -> Limit:
    """Return the margin at each spindle speed.

    Parameters
    ----------
    model
        The modal model, one or a batch.
    matrix
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (3, 3) or (..., 3, 3).
    speeds_rpm
        Spindle speeds [rpm], shape (n_speeds,).

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
    nodes = frequency_nodes(model)
    low = valleys(model, matrix, nodes)[1]
    # With the bottoms of the valleys among the nodes the nearest fitting wave on either side is found.
    w = np.sort(np.concatenate([np.broadcast_to(nodes, (*low.shape[:-1], nodes.shape[-1])), low], -1), -1)
    lam = tracked_eigenvalues(loop_matrix(model, matrix, w))
    cells = _Cells.between(w, lam, 60.0 / speeds)
    return _refined(model, matrix, cells.best())


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
        """Return the cells between sorted frequencies (..., n_w) with eigenvalues (..., n_w, 2)."""
        lam = np.moveaxis(lam, -1, -2)
        left, right = _clipped(w[..., None, :], lam)
        lam_left, lam_right = left[1], right[1]
        theta = (_phase(lam_left), _phase(lam_right))
        ends = [
            _flat((end[0][..., None, :, :] * turn[:, None, None] - angle[..., None, :, :]) / (2.0 * np.pi))
            for end, angle in zip((left, right), theta, strict=True)
        ]
        low_left = _flat((lam_left.real <= lam_right.real)[..., None, :, :])
        waves = _nearest_whole(ends[0], ends[1], low_left)
        step = ends[1] - ends[0]
        share = np.clip((waves - ends[0]) / np.where(step == 0.0, 1.0, step), 0.0, 1.0)
        real_left, real_right = (_flat(x.real[..., None, :, :]) for x in (lam_left, lam_right))
        real = real_left + share * (real_right - real_left)
        fits = np.isfinite(waves) & (np.minimum(real_left, real_right) < 0.0)
        shape = fits.shape
        spread = [np.broadcast_to(_flat(x[..., None, :, :]), shape) for x in (*left, *right)]
        return _Cells(
            left=spread[0].real, right=spread[2].real, lam_left=spread[1], lam_right=spread[3],
            waves=waves, real=np.where(fits, real, np.inf), turn=np.broadcast_to(turn[:, None], shape),
        )

    def best(self) -> _Cells:
        """Return the few cells at each speed with the most negative estimate."""
        pick = np.argpartition(self.real, _CANDIDATES, axis=-1)[..., :_CANDIDATES]
        return _Cells(*(np.take_along_axis(getattr(self, name), pick, axis=-1) for name in self.__annotations__))


def _flat(x: NDArray[np.generic]) -> NDArray:  # type: ignore[type-arg]
    """Return x with its last two axes (branch, cell) joined."""
    return x.reshape(*x.shape[:-2], -1)


def _clipped(
    w: FloatArray, lam: ComplexArray
) -> tuple[tuple[FloatArray, ComplexArray], tuple[FloatArray, ComplexArray]]:
    """Return both ends of each step, moved to where the real part changes its sign inside it."""
    w = np.broadcast_to(w, lam.shape)
    a, b = lam[..., :-1], lam[..., 1:]
    wa, wb = w[..., :-1], w[..., 1:]
    change = a.real * b.real < 0.0
    share = np.where(change, a.real / np.where(change, a.real - b.real, 1.0), 0.0)
    w_zero, lam_zero = wa + share * (wb - wa), a + share * (b - a)
    cut_left, cut_right = change & (a.real > 0.0), change & (b.real > 0.0)
    left = np.where(cut_left, w_zero, wa), np.where(cut_left, lam_zero, a)
    right = np.where(cut_right, w_zero, wb), np.where(cut_right, lam_zero, b)
    return left, right


def _nearest_whole(start: FloatArray, end: FloatArray, from_start: NDArray[np.bool_]) -> FloatArray:
    """Return the whole number between start and end nearest to the chosen end, inf where there is none."""
    near, far = np.where(from_start, start, end), np.where(from_start, end, start)
    whole = np.where(far > near, np.ceil(near), np.floor(near))
    inside = (whole >= np.minimum(near, far)) & (whole <= np.maximum(near, far)) & (whole >= 0.0)
    return np.where(inside, whole, np.inf)


def _refined(model: ModalModel, matrix: FloatArray, cells: _Cells) -> Limit:
    """Return the limit at each speed from its candidate cells, by bisection on the phase condition."""
    shape = cells.real.shape
    low, high = cells.left, cells.right
    found = np.isfinite(cells.real)
    waves = np.where(found, cells.waves, 0.0)
    span = np.where(cells.right > cells.left, cells.right - cells.left, 1.0)

    def eigenvalue(w: FloatArray) -> ComplexArray:
        flat = w.reshape(*shape[:-2], -1)
        half, distance = (x.reshape(shape) for x in eigenvalue_pair(loop_matrix(model, matrix, flat)))
        guess = cells.lam_left + (w - cells.left) / span * (cells.lam_right - cells.lam_left)
        near_plus = np.abs(half + distance - guess) <= np.abs(half - distance - guess)
        return np.where(near_plus, half + distance, half - distance)

    rises = cells.right * cells.turn - _phase(cells.lam_right) > cells.left * cells.turn - _phase(cells.lam_left)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        misfit = middle * cells.turn - _phase(eigenvalue(middle)) - 2.0 * np.pi * waves
        go_left = (misfit > 0.0) == rises
        low, high = np.where(go_left, low, middle), np.where(go_left, middle, high)
    w = 0.5 * (low + high)
    margin = np.where(found, margin_from_real(eigenvalue(w).real), np.inf)
    pick = np.argmin(margin, axis=-1)[..., None]
    return Limit(
        margin=np.take_along_axis(margin, pick, axis=-1)[..., 0],
        omega=np.take_along_axis(w, pick, axis=-1)[..., 0],
    )
