"""The lowest modes without a factor: a mass-orthogonal space that grows by preconditioned residuals.

The counterpart of ``fem.solid.eigensearch`` for bars too large for it, with the same way of being asked.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.solid.eigensearch import Eigenpairs, Operator, orthonormal
from stickout.meshes.tagged import FloatArray

_MOST_ROUNDS = 100
# Pairs beyond those wanted that are improved with them, so that the last one has a clear neighbour.
_GUARD = 2
# Columns of the space above which it is cut down to its lowest pairs.
_WIDEST = 96
# Least of a column's energy that must outlast a pass: less of it was magnified, and with it what rounding
# left along the space.
_KEPT = 0.25
_MOST_PASSES = 4


class Operators(NamedTuple):
    """K with the shifted mass, M, and nearly the inverse of the first; each takes columns."""

    stiffness: Operator
    mass: Operator
    nearly: Operator


class GrowingSpace:
    """The lowest eigenpairs of ``K v = value M v`` above ``-shift``; asked for more, it goes on from there.

    Parameters
    ----------
    operators
        What is applied.
    start
        Gives the start columns for a number of wanted pairs, shape (n_unknowns, n); they should hold as
        many columns like the wanted shapes, and some without any likeness.
    shift
        The shift in the stiffness [1/s^2].
    tolerance
        Greatest relative error of an eigenvalue, from the energy of the residual.

    Source
    ------
    Davidson's method in blocks; Saad, Numerical Methods for Large Eigenvalue Problems (recalled, not
    opened). Beside locally optimal block conjugate gradients: see DEVELOPERS.md.
    """

    def __init__(
        self,
        operators: Operators,
        start: Callable[[int], FloatArray],
        *,
        shift: float = 0.0,
        tolerance: float = 1e-7,
    ) -> None:
        self._do, self._start = operators, start
        self._shift, self._tolerance = shift, tolerance
        self._asked = 0
        self._basis = self._mass_basis = self._forces = np.empty((0, 0))
        self._inner = np.zeros((0, 0))
        self.rounds = 0

    def lowest(self, wanted: int) -> Eigenpairs:
        """Return the lowest pairs.

        Parameters
        ----------
        wanted
            How many; fewer come back only when there are no more unknowns.

        Returns
        -------
        Eigenpairs
            With the root of each residual's energy over the pair's own.

        Raises
        ------
        SolveError
            The iteration did not converge; the text says how many did.
        """
        if wanted > self._asked:
            self._take(self._start(wanted))
            self._asked = wanted
        for _ in range(_MOST_ROUNDS):
            values, turn, rest = self._residuals(wanted + _GUARD)
            near = self._do.nearly(rest)
            left = np.maximum(np.einsum("ij,ij->j", rest, near), 0.0) / values
            if np.all(left[:wanted] < self._tolerance):
                pairs = slice(min(wanted, len(values)))
                return Eigenpairs(
                    values[pairs] - self._shift, self._basis @ turn[:, pairs], np.sqrt(left[pairs])
                )
            self._shorten(turn)
            self._take(near[:, left > self._tolerance])
            self.rounds += 1
        done = int(np.sum(left[:wanted] < self._tolerance))
        raise SolveError(
            f"{done} of {wanted} modes converged, worst relative residual "
            f"{np.sqrt(left[:wanted].max()):.1e}. "
            "Ask for fewer modes, or stiffen a grip that is almost loose."
        )

    def _residuals(self, count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the lowest values, all turns of the space sorted by value, and the residuals."""
        values, turn = np.linalg.eigh(self._inner)
        count = min(count, len(values))
        picked = turn[:, :count]
        rest = self._forces @ picked - self._mass_basis @ (picked * values[:count])
        return values[:count], turn, rest

    def _take(self, block: FloatArray) -> None:
        """Take what is new in some columns into the space."""
        if not self._basis.size:
            self._basis = self._mass_basis = self._forces = np.empty((len(block), 0))
        block, image, _ = orthonormal(block, self._do.mass(block))
        for _ in range(_MOST_PASSES):
            block = block - self._basis @ (self._mass_basis.T @ block)
            # Anew: of a column that was all but in the space, what is left of the image is rounding.
            block, image, gram = orthonormal(block, self._do.mass(block))
            if np.linalg.eigvalsh(gram)[0] > _KEPT:
                break
        room = len(block) - self._basis.shape[1]
        block, image = block[:, :room], image[:, :room]
        force = self._do.stiffness(block)
        old = self._inner.shape[0]
        inner = np.zeros((old + block.shape[1],) * 2)
        inner[:old, :old] = self._inner
        inner[old:] = force.T @ np.hstack([self._basis, block])
        inner[:old, old:] = inner[old:, :old].T
        self._inner = (inner + inner.T) / 2
        self._basis = np.hstack([self._basis, block])
        self._mass_basis = np.hstack([self._mass_basis, image])
        self._forces = np.hstack([self._forces, force])

    def _shorten(self, turn: FloatArray) -> None:
        """Cut a wide space down to its lowest pairs."""
        if len(turn) <= _WIDEST:
            return
        kept = turn[:, : 2 * self._asked + 8]
        self._basis, self._mass_basis = self._basis @ kept, self._mass_basis @ kept
        self._forces = self._forces @ kept
        self._inner = kept.T @ self._inner @ kept
