"""Polynomials on a cell from 0 to 1, by their values at Lobatto's points."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.polynomial import legendre

from stickout.meshes.tagged import FloatArray

# Gauss points beyond what the polynomials' products need: the cells of a tube divide by the radius.
_MORE = 3


@dataclass(frozen=True)
class Polynomials:
    """Polynomials of a degree p, the i-th of which is 1 at node i and 0 at the others.

    Attributes
    ----------
    nodes
        Nodes, both ends among them, shape (p + 1,).
    points, weights
        Gauss points and weights, shape (n_q,).
    values, slopes
        Values and slopes of the polynomials there, shape (n_q, p + 1).
    """

    nodes: FloatArray
    points: FloatArray
    weights: FloatArray
    values: FloatArray
    slopes: FloatArray

    def at(self, places: FloatArray) -> FloatArray:
        """Return the values at places from 0 to 1, shape (n, p + 1)."""
        return _values(self.nodes, places)

    @cached_property
    def products(self) -> FloatArray:
        """Return products of two polynomials at the Gauss points, shape (4, n_q, p + 1, p + 1).

        Both as values; value and slope; slope and value; both as slopes.
        """
        given = (self.values, self.slopes)
        return np.stack([one[:, :, None] * other[:, None, :] for one in given for other in given])


@cache
def polynomials(degree: int) -> Polynomials:
    """Return the polynomials of a degree, 1 or above."""
    one = np.zeros(degree + 1)
    one[degree] = 1.0
    inner = np.sort(legendre.legroots(legendre.legder(one)).real)
    nodes = (np.concatenate([[-1.0], inner, [1.0]]) + 1) / 2
    points, weights = legendre.leggauss(degree + _MORE)
    points, weights = (points + 1) / 2, weights / 2
    every = np.eye(degree + 1)
    slope = np.stack([legendre.legval(2 * points - 1, 2 * legendre.legder(row)) for row in every])
    slopes = slope.T @ np.linalg.inv(legendre.legvander(2 * nodes - 1, degree))
    return Polynomials(nodes, points, weights, _values(nodes, points), slopes)


def _values(nodes: FloatArray, places: FloatArray) -> FloatArray:
    degree = len(nodes) - 1
    given = legendre.legvander(2 * places - 1, degree)
    return np.asarray(given @ np.linalg.inv(legendre.legvander(2 * nodes - 1, degree)))
