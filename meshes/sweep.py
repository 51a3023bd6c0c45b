"""A section swept along stations into second-order hexahedra, graded where accuracy is bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stickout.meshes.pieces import Fineness
from stickout.meshes.sections import Section
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class Swept:
    """Cells of a sweep, before they are named.

    Attributes
    ----------
    points
        Node positions [m], shape (n_points, 3), rising by plane of constant x.
    cells
        20-node cells, shape (n_cells, 20), rising by layer.
    layer
        Layer of each cell along x, shape (n_cells,).
    section_cell
        Cell of the section that each cell is swept from, shape (n_cells,).
    node
        Node number of each section node on each plane (planes 0, 2, 4 ... are stations, the odd
        ones lie between), -1 where there is none; shape (2*n_layers + 1, n_section_points).
    """

    points: FloatArray
    cells: IntArray
    layer: IntArray
    section_cell: IntArray
    node: IntArray


def stations(
    breaks: Sequence[float], hot: Sequence[float], *, longest: float, first: float, ratio: float = 2.0
) -> FloatArray:
    """Return stations along the bar through all breaks, crowded at the hot ones.

    Parameters
    ----------
    breaks
        Positions that must be met [m], rising.
    hot
        Those among them where the stress is singular: a held face, a shoulder, the end of a bed.
    longest
        Greatest length of a layer [m].
    first
        Length of the layers that touch a hot station [m].
    ratio
        Length of a layer over that of its neighbour on the hot side.

    Returns
    -------
    ndarray
        Stations [m], rising, shape (n_layers + 1,).
    """
    out = [breaks[0]]
    for left, right in pairwise(breaks):
        out.extend(_span(left, right, (left in hot, right in hot), (longest, first, ratio)))
    return np.array(out)


def halved(
    at: FloatArray, hot: Sequence[float], *, fineness: Fineness, first: float, more: int
) -> FloatArray:
    """Return stations or lines cut in half as often as a fineness says: a subdivision of those given.

    Parameters
    ----------
    at
        Positions, rising.
    hot
        Singular ones among them: what touches them is halved further, unless it is thin enough already.
    fineness
        How often.
    first
        What an interval that touches a singular place measures before any cut, at the most.
    more
        How often the intervals away from singular places are halved further.
    """
    for _ in range(fineness.cuts):
        at = np.sort(np.concatenate([at, (at[1:] + at[:-1]) / 2]))
    least = first * fineness.least * (1 + 1e-6)
    for _ in range(fineness.deep):
        at = _cut_where(at, _beside(at, hot) & (np.diff(at) > least))
    for _ in range(more):
        at = _cut_where(at, ~_beside(at, hot))
    return at


def _beside(at: FloatArray, hot: Sequence[float]) -> BoolArray:
    """Return which intervals touch a singular place."""
    near = np.zeros(len(at), dtype=bool)
    near[[int(np.argmin(np.abs(at - h))) for h in hot]] = True
    touched: BoolArray = near[1:] | near[:-1]
    return touched


def _cut_where(at: FloatArray, cut: BoolArray) -> FloatArray:
    """Return positions with one more in the middle of some intervals."""
    return np.sort(np.concatenate([at, ((at[1:] + at[:-1]) / 2)[cut]]))


def _span(
    left: float, right: float, hot: tuple[bool, bool], sizes: tuple[float, float, float]
) -> list[float]:
    """Return the stations after ``left`` up to ``right``; layers grow away from each hot end."""
    longest, size, ratio = sizes
    length, ends = right - left, sum(hot)
    growing: list[float] = []
    while ends and size < longest / 1.2 and (sum(growing) + size) * ends + size < length * 0.999:
        growing.append(size)
        size *= ratio
    rest = length - ends * sum(growing)
    count = max(1, int(np.ceil(rest / min(longest, size if ends else longest) - 1e-6)))
    steps = (growing if hot[0] else []) + [rest / count] * count + (growing[::-1] if hot[1] else [])
    positions = left + np.cumsum(steps)
    positions[-1] = right
    return [float(p) for p in positions]


def sweep(section: Section, at: FloatArray, *, present: BoolArray) -> Swept:
    """Return the hexahedra of a section swept along x.

    Parameters
    ----------
    section
        The section mesh.
    at
        Stations [m], rising, shape (n_layers + 1,).
    present
        Which section cells exist in which layer, shape (n_layers, n_section_cells).

    Returns
    -------
    Swept
        Conforming cells; neighbours share nodes wherever the section's cells do.
    """
    used = occupied(section, present)
    n_planes, n_nodes = used.shape
    node = np.full((n_planes, n_nodes), -1)
    node[used] = np.arange(int(used.sum()))
    x = np.empty(n_planes)
    x[::2] = at
    x[1::2] = (at[1:] + at[:-1]) / 2
    plane, section_node = np.nonzero(used)
    points = np.column_stack([x[plane], section.points[section_node]])
    layer, section_cell = np.nonzero(present)
    corner, middle = section.cells[section_cell, :4], section.cells[section_cell, 4:]
    low, between, high = (2 * layer + k for k in range(3))
    cells = np.concatenate(
        [
            node[low[:, None], corner], node[high[:, None], corner],
            node[low[:, None], middle], node[high[:, None], middle], node[between[:, None], corner],
        ],
        axis=1,
    )  # fmt: skip
    return Swept(points, cells, layer, section_cell, node)


def occupied(section: Section, present: BoolArray) -> BoolArray:
    """Return which nodes of the section are there on which plane: (2 n_layers + 1, n_section_points).

    Parameters
    ----------
    section
        The section mesh.
    present
        Which section cells exist in which layer, shape (n_layers, n_section_cells).
    """
    # A bar has few kinds of layers, however many layers.
    kinds, kind = np.unique(present, axis=0, return_inverse=True)
    whole = np.zeros((len(kinds), len(section.points)), dtype=bool)
    corners = np.zeros_like(whole)
    for row, inside in enumerate(kinds):
        whole[row, section.cells[inside]] = True
        corners[row, section.cells[inside, :4]] = True
    kind = kind.ravel()
    used = np.zeros((2 * len(present) + 1, len(section.points)), dtype=bool)
    used[0:-1:2] |= whole[kind]
    used[2::2] |= whole[kind]
    used[1::2] = corners[kind]
    return used


def side_facets(swept: Swept, edges: IntArray, *, rows: BoolArray) -> IntArray:
    """Return the 8-node facets swept from section edges.

    Parameters
    ----------
    swept
        The sweep.
    edges
        Section nodes at the start, the end and the middle of each edge, shape (n_edges, 3). Walking
        from start to end with the material on the left makes the normal point outward.
    rows
        In which layers a facet is wanted, shape (n_layers, n_edges).

    Returns
    -------
    ndarray
        Nodes of each facet, shape (n_facets, 8), by layer and then by edge.
    """
    layer, which = np.nonzero(rows)
    start, stop, middle = edges[which].T
    low, between, high = (2 * layer + k for k in range(3))
    node = swept.node
    facets: IntArray = np.stack(
        [
            node[low, start], node[low, stop], node[high, stop], node[high, start],
            node[low, middle], node[between, stop], node[high, middle], node[between, start],
        ],
        axis=1,
    )  # fmt: skip
    return facets


def edge_nodes(section: Section, edges: IntArray) -> IntArray:
    """Return the start, end and middle node of section edges given as (cell, side), shape (n_edges, 3)."""
    cell, side = edges.T
    return np.stack(
        [section.cells[cell, side], section.cells[cell, (side + 1) % 4], section.cells[cell, 4 + side]],
        axis=1,
    )


def edge_normals(section: Section, edges: IntArray) -> FloatArray:
    """Return the outward normals of section edges given as (cell, side), shape (n_edges, 2)."""
    start, stop, _ = edge_nodes(section, edges).T
    along = section.points[stop] - section.points[start]
    normal: FloatArray = (
        np.stack([along[:, 1], -along[:, 0]], axis=1) / np.linalg.norm(along, axis=1)[:, None]
    )
    return normal


def outer_edges(section: Section, inside: BoolArray) -> IntArray:
    """Return the (cell, edge) pairs on the outside of some of a section's cells, shape (n_edges, 2)."""
    cell = np.repeat(np.flatnonzero(inside), 4)
    side = np.tile(np.arange(4), int(inside.sum()))
    middle = section.cells[cell, 4 + side]
    count = np.bincount(middle, minlength=len(section.points))
    free = count[middle] == 1
    return np.stack([cell[free], side[free]], axis=1)
