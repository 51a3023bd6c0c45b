"""Shape functions and Gauss points of the 20-node hexahedron and the 8-node quadrilateral."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from stickout.meshes.tagged import FloatArray

# Node positions in the reference cell, VTK order: corners first, then the edge middles.
HEX20 = np.array(
    [
        [-1, -1, -1], [1, -1, -1], [1, 1, -1], [-1, 1, -1],
        [-1, -1, 1], [1, -1, 1], [1, 1, 1], [-1, 1, 1],
        [0, -1, -1], [1, 0, -1], [0, 1, -1], [-1, 0, -1],
        [0, -1, 1], [1, 0, 1], [0, 1, 1], [-1, 0, 1],
        [-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0],
    ],
    dtype=float,
)  # fmt: skip
# The two corners at the ends of the edge that each middle node lies on, in the order of the middles.
EDGE_ENDS = np.array(
    [[0, 1], [1, 2], [2, 3], [3, 0], [4, 5], [5, 6], [6, 7], [7, 4], [0, 4], [1, 5], [2, 6], [3, 7]]
)
FACET_ENDS = EDGE_ENDS[:4]
QUAD8 = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [0, -1], [1, 0], [0, 1], [-1, 0]], dtype=float)


class Rule(NamedTuple):
    """Shape functions at the Gauss points of a reference cell of dimension d.

    ``values`` has shape (n_points, n_nodes), ``gradients`` (n_points, d, n_nodes) and ``weights``
    (n_points,).
    """

    values: FloatArray
    gradients: FloatArray
    weights: FloatArray


def serendipity(nodes: FloatArray, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the serendipity functions of second order and their gradients at given points.

    Parameters
    ----------
    nodes
        Reference positions of the nodes, shape (n_nodes, d): ``HEX20`` or ``QUAD8``.
    at
        Reference positions where they are wanted, shape (n_points, d).

    Returns
    -------
    tuple of ndarray
        Values, shape (n_points, n_nodes), and gradients, shape (n_points, d, n_nodes).

    Source
    ------
    Zienkiewicz & Taylor, The Finite Element Method, serendipity families (recalled, not opened);
    the sum to one and the value at the nodes are tested.
    """
    dim = nodes.shape[1]
    values = np.empty((len(at), len(nodes)))
    gradients = np.empty((len(at), dim, len(nodes)))
    for a, node in enumerate(nodes):
        middle = int(np.argmin(np.abs(node))) if np.any(node == 0) else -1
        factors = 1 + at * node
        slopes = np.broadcast_to(node, at.shape).copy()
        if middle >= 0:
            factors[:, middle] = 1 - at[:, middle] ** 2
            slopes[:, middle] = -2 * at[:, middle]
            scale, bubble, bubble_slope = 0.5 ** (dim - 1), np.ones(len(at)), np.zeros(dim)
        else:
            scale, bubble, bubble_slope = 0.5**dim, at @ node - (dim - 1), node
        product = factors.prod(axis=1)
        values[:, a] = scale * product * bubble
        for i in range(dim):
            others = np.delete(factors, i, axis=1).prod(axis=1)
            gradients[:, i, a] = scale * (slopes[:, i] * others * bubble + product * bubble_slope[i])
    return values, gradients


@cache
def gauss_rule(dim: int, order: int = 3) -> Rule:
    """Return the shape functions at the tensor Gauss points.

    Parameters
    ----------
    dim
        3 for the 20-node hexahedron, 2 for the 8-node quadrilateral.
    order
        Points along each direction.

    Returns
    -------
    Rule
        Values, gradients and weights at ``order**dim`` points.
    """
    points, weights = np.polynomial.legendre.leggauss(order)
    at = np.stack([axis.ravel() for axis in np.meshgrid(*[points] * dim, indexing="ij")], axis=1)
    w = np.stack([axis.ravel() for axis in np.meshgrid(*[weights] * dim, indexing="ij")], axis=1).prod(axis=1)
    values, gradients = serendipity(HEX20 if dim == 3 else QUAD8, at)
    return Rule(values, gradients, w)
