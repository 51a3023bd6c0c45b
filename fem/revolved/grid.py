"""Lines across a section of a bar of revolution, and what integrals and values over its cells are."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stickout.fem.revolved.polynomials import polynomials
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Grid:
    """Cells over the radius: lines between them [m], rising, and the degree of the polynomials on them."""

    lines: FloatArray
    degree: int

    @cached_property
    def nodes(self) -> FloatArray:
        """Return the radii of its nodes [m], shape (n_nodes,)."""
        return nodes_of(self.lines, degree=self.degree)

    @cached_property
    def integrals(self) -> FloatArray:
        """Return integrals over every cell of products of its polynomials p and q: (7, n, k, k).

        Of p q r, p q, p q / r, p q', p q' r, p' q and p' q' r, where r is the radius.
        """
        given = polynomials(self.degree)
        size = np.diff(self.lines)[:, None]
        radius = self.lines[:-1, None] + size * given.points
        plain = np.broadcast_to(given.weights, radius.shape)
        long = size * plain
        value_value, value_slope, slope_value, slope_slope = given.products.reshape(4, len(given.points), -1)
        found = [
            np.stack([long * radius, long, long / radius]) @ value_value,
            np.stack([plain, plain * radius]) @ value_slope,
            (plain @ slope_value)[None],
            (plain * radius / size @ slope_slope)[None],
        ]
        k = self.degree + 1
        return np.concatenate(found).reshape(7, len(self.lines) - 1, k, k)

    @cached_property
    def moments(self) -> FloatArray:
        """Return integrals over every cell of its polynomials times r, and times r^2, (2, n, k)."""
        given = polynomials(self.degree)
        size = np.diff(self.lines)[:, None]
        radius = self.lines[:-1, None] + size * given.points
        weight = radius * size * given.weights
        return np.stack([weight, weight * radius]) @ given.values

    def values(self, places: FloatArray) -> FloatArray:
        """Return values of all the nodes' polynomials at places [m], shape (n_places, n_nodes)."""
        return values_of(self.lines, places, degree=self.degree)


def nodes_of(lines: FloatArray, *, degree: int) -> FloatArray:
    """Return where the nodes of polynomials on cells lie, shape (n_nodes,).

    Parameters
    ----------
    lines
        Lines between the cells, rising.
    degree
        Degree of the polynomials.
    """
    inner = lines[:-1, None] + np.diff(lines)[:, None] * polynomials(degree).nodes[1:]
    return np.concatenate([lines[:1], inner.ravel()])


def values_of(lines: FloatArray, places: FloatArray, *, degree: int) -> FloatArray:
    """Return values of all the nodes' polynomials at places, shape (n_places, n_nodes).

    Parameters
    ----------
    lines
        Lines between the cells, rising.
    places
        Where; beyond the first and the last line those of the nearest cell hold.
    degree
        Degree of the polynomials.
    """
    cell = np.clip(np.searchsorted(lines, places) - 1, 0, len(lines) - 2)
    local = (places - lines[cell]) / np.diff(lines)[cell]
    out = np.zeros((len(places), (len(lines) - 1) * degree + 1))
    columns = cell[:, None] * degree + np.arange(degree + 1)
    np.put_along_axis(out, columns, polynomials(degree).at(local), axis=1)
    return out


def shared(one: Grid, other: Grid) -> Grid:
    """Return the grid of the face between two sections: what is a motion of both, and of either beyond it.

    Parameters
    ----------
    one, other
        Their grids; the end lines of what both cover are lines of both.
    """
    if one is other:
        return one
    low, high = max(one.lines[0], other.lines[0]), min(one.lines[-1], other.lines[-1])
    every = np.union1d(one.lines, other.lines)
    both = np.isin(every, one.lines) & np.isin(every, other.lines)
    lines = every[both | (every < low) | (every > high)]
    return next((grid for grid in (one, other) if np.array_equal(grid.lines, lines)), Grid(lines, one.degree))
