"""A solver of the stiffness for bars whose factor would not fit: two levels and conjugate gradients.

One round smooths at every corner of the mesh, corrects on the bar of the corners alone, and smooths
again. It stands in for the factor wherever one is used.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.solid.body import Body
from stickout.fem.solid.corners import corners_of
from stickout.fem.solid.matrix_free import cell_stiffness
from stickout.fem.solid.vertex_patches import stars_of
from stickout.meshes.tagged import FloatArray

# What is left of the error in the energy norm where a solve stops.
_LEFT: Final = 1e-7
_MOST_STEPS = 400


class TwoLevel:
    """The stiffness of a model, applied exactly and inverted nearly.

    Parameters
    ----------
    model
        The held bar or a part of one.
    """

    def __init__(self, model: Body) -> None:
        self._layout = model.layout
        self._held = model.held
        self._stiffness = cell_stiffness(model.assembly)
        self._single = self._stiffness.single()
        self._stars = stars_of(model)
        self.corners = corners_of(model)
        self.coarse = self.corners.factor()

    @property
    def n_bytes(self) -> int:
        """Return the memory that matrices, stars and the coarse factor take."""
        return (
            self._stiffness.n_bytes + self._single.n_bytes + self._stars.inverse.nbytes + self.coarse.n_bytes
        )

    def apply(self, columns: FloatArray) -> FloatArray:
        """Return K times columns, both of shape (n_unknowns, n)."""
        force = self._stiffness.apply(self._layout.spread(columns))
        return self._layout.gather(np.asarray(force, dtype=float))

    def nearly(self, columns: FloatArray) -> FloatArray:
        """Return nearly the inverse of K times columns: one round of the two levels.

        Symmetric and positive but for rounding, so it preconditions conjugate gradients and eigensolvers.

        Parameters
        ----------
        columns
            Loads, shape (n_unknowns, n).
        """
        force = self._layout.spread(columns)
        first = self._stars.smooth(force, self._single)
        met = self._single.apply(first)
        # From here on in double precision: the answer of the coarse bar is large where it bends as a whole.
        moved = self.corners.prolong(self.coarse.solve(self.corners.restrict(force - met)))
        moved += first
        moved[self._held] = 0.0
        met = self._stiffness.apply(moved)
        moved += self._stars.smooth(force - met, self._single)
        return self._layout.gather(moved)

    def solve(self, right: FloatArray, *, left: float = _LEFT) -> FloatArray:
        """Return the displacements under load columns, both of shape (n_unknowns, n).

        Parameters
        ----------
        right
            Loads.
        left
            What may be left of the error in the energy norm, relatively.

        Raises
        ------
        SolveError
            The iteration did not converge.

        Source
        ------
        Preconditioned conjugate gradients, every column by itself; Polak and Ribiere's beta, since the
        preconditioner is rounded: Saad, Iterative Methods for Sparse Linear Systems (recalled, not opened).
        """
        moved, rest = np.zeros_like(right), right.copy()
        near = self.nearly(rest)
        step, size = near.copy(), _dots(rest, near)
        wanted = size * left**2
        for _ in range(_MOST_STEPS):
            if np.all(size <= wanted):
                return moved
            met = self.apply(step)
            length = _ratio(size, _dots(step, met))
            moved += step * length
            rest -= met * length
            last, near = near, self.nearly(rest)
            following = _dots(rest, near)
            step = near + step * _ratio(following - _dots(rest, last), size)
            size = following
        worst = float(np.sqrt((size / wanted).max())) * left
        raise SolveError(
            f"The static solve was still {worst:.1e} off after {_MOST_STEPS} steps. Check that the grip "
            "holds the bar in every direction; a mesh of less flat cells also helps."
        )


def _dots(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the scalar product of each pair of columns, shape (n,)."""
    return np.asarray(np.einsum("ij,ij->j", one, other))


def _ratio(over: FloatArray, under: FloatArray) -> FloatArray:
    """Return quotients, zero where a column has nothing left."""
    return np.divide(over, under, out=np.zeros_like(over), where=under > 0)
