"""The smoother of the two-level preconditioner: a small problem at every corner of the mesh.

A star is a corner and the middles of the edges that meet in it, with everything else held still. All
stars are solved apart and their answers added. A cell meets eight stars, so no motion's energy is counted
more than eight times: that bound steers the Chebyshev steps, nothing has to be estimated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stickout.fem.solid.body import Body
from stickout.fem.solid.matrix_free import CellStiffness, Motions, summing
from stickout.meshes.shape import EDGE_ENDS, FACET_ENDS
from stickout.meshes.tagged import FloatArray, IntArray

if TYPE_CHECKING:
    import scipy.sparse as sp

_CHUNK = 2048
# Greatest eigenvalue of the added answers times the stiffness: the stars that meet in a cell.
_MOST = 8.0
# Chebyshev steps, and the part of the spectrum they damp: tried on all grips (see DEVELOPERS.md).
_STEPS = 4
_SPAN = 30.0


@dataclass(frozen=True)
class Stars:
    """Small inverses at every corner.

    Attributes
    ----------
    nodes
        The corner and the middles round it, shape (n_stars, n_slots); spare slots name the corner again.
    inverse
        Inverse stiffness of each star, zero where held or spare, shape (n_stars, 3 n_slots, 3 n_slots).
    scatter
        Sums the answers up at the nodes, shape (n_points, n_stars * n_slots).
    """

    nodes: IntArray
    inverse: NDArray[np.float32]
    scatter: sp.csr_array

    def apply(self, force: Motions) -> Motions:
        """Return the answers of all stars to nodal forces, added; both of shape (n_points, 3, n)."""
        n = force.shape[2]
        stars, slots = self.nodes.shape
        local = force.reshape(len(force), -1)[self.nodes].reshape(stars, 3 * slots, n)
        answer = np.matmul(self.inverse, local).reshape(stars * slots, 3 * n)
        return np.asarray((self.scatter @ answer).reshape(force.shape))

    def smooth(self, force: Motions, stiffness: CellStiffness) -> Motions:
        """Return what a few Chebyshev steps make of nodal forces, in single precision.

        Parameters
        ----------
        force
            Nodal forces, shape (n_points, 3, n).
        stiffness
            In single precision: what it is applied to is small and local.

        Source
        ------
        Chebyshev iteration: Saad, Iterative Methods for Sparse Linear Systems, section 12.3
        (recalled, not opened).
        """
        low = _MOST / _SPAN
        middle, half = (_MOST + low) / 2, (_MOST - low) / 2
        rest = force.astype(np.float32)
        step = self.apply(rest) / np.float32(middle)
        moved = step.copy()
        rho = half / middle
        for _ in range(_STEPS - 1):
            rest -= stiffness.apply(step)
            following = 1 / (2 * middle / half - rho)
            step *= np.float32(following * rho)
            step += np.float32(2 * following / half) * self.apply(rest)
            moved += step
            rho = following
        return moved


def stars_of(model: Body) -> Stars:
    """Return the stars of a model.

    Parameters
    ----------
    model
        The held bar or a part of one.

    Returns
    -------
    Stars
        One for every corner of a cell.

    Source
    ------
    Schwarz methods with a patch for every corner, for elements of higher order: Schoeberl and others,
    IMA J. Numer. Anal. 28 (2008) 1 (recalled, not opened); the patches and the bound: computed here.
    """
    book = _Slots(model)
    size = 3 * book.count
    sums = np.zeros(len(book.corners) * size**2)
    assembly = model.assembly
    for start in range(0, len(model.mesh.cells), _CHUNK):
        pick = np.arange(start, min(start + _CHUNK, len(model.mesh.cells)))
        book.add(sums, model.mesh.cells[pick], assembly.stiffness(pick), EDGE_ENDS)
    for tie in model.ties.values():
        for side in range(tie.nodes.shape[1] // 8):
            nodes, own = slice(8 * side, 8 * side + 8), slice(24 * side, 24 * side + 24)
            book.add(sums, tie.nodes[:, nodes], tie.stiffness[:, own, own], FACET_ENDS)
    inverse = _inverses(sums.reshape(-1, size, size), book.there(model.held))
    return Stars(book.nodes, inverse, summing(book.nodes.ravel(), len(model.mesh.points)))


class _Slots:
    """Which node of which star stands where."""

    def __init__(self, model: Body) -> None:
        cells, self._n = model.mesh.cells, len(model.mesh.points)
        ends = np.concatenate([cells[:, EDGE_ENDS[:, side]] for side in (0, 1)]).ravel()
        middles = np.concatenate([cells[:, 8:]] * 2).ravel()
        # A star's own corner first: it is its own middle in this list.
        self.corners = np.unique(cells[:, :8])
        corner, middle = np.divmod(np.unique(ends * self._n + middles), self._n)
        star = np.searchsorted(self.corners, corner)
        first = np.searchsorted(star, np.arange(len(self.corners)))
        slot = 1 + np.arange(len(star)) - first[star]
        self.count = int(slot.max()) + 1
        self.nodes = np.repeat(self.corners[:, None], self.count, axis=1)
        self.nodes[star, slot] = middle
        self._keys, self._slot = corner * self._n + middle, slot

    def there(self, held: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return which unknowns of each star are there and free, shape (n_stars, 3 n_slots)."""
        real = np.ones(self.nodes.shape, dtype=bool)
        real[:, 1:] = self.nodes[:, 1:] != self.corners[:, None]
        free = real[:, :, None] & ~held[self.nodes]
        return free.reshape(len(self.nodes), -1)

    def add(self, sums: FloatArray, nodes: IntArray, matrices: FloatArray, ends: IntArray) -> None:
        """Add matrices of cells or facets to the stars of their corners."""
        corners, size = int(ends.max()) + 1, 3 * self.count
        for corner in range(corners):
            mine = np.flatnonzero((ends == corner).any(axis=1)) + corners
            own = nodes[:, corner]
            slots = self._slot[np.searchsorted(self._keys, own[:, None] * self._n + nodes[:, mine])]
            slots = np.concatenate([np.zeros((len(own), 1), dtype=np.int64), slots], axis=1)
            row = (3 * slots[:, :, None] + np.arange(3)).reshape(len(own), -1)
            base = np.searchsorted(self.corners, own)[:, None, None] * size**2
            local = (3 * np.concatenate([[corner], mine])[:, None] + np.arange(3)).ravel()
            np.add.at(
                sums, base + row[:, :, None] * size + row[:, None, :], matrices[:, local[:, None], local]
            )


def _inverses(blocks: FloatArray, there: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return the inverses of blocks, zero in the rows and columns that are not there."""
    out = np.empty(blocks.shape, dtype=np.float32)
    unit = np.eye(blocks.shape[1])
    for start in range(0, len(blocks), _CHUNK):
        pick = slice(start, start + _CHUNK)
        both = there[pick, :, None] & there[pick, None, :]
        scale = np.einsum("nii->ni", blocks[pick])
        # By the diagonal: its entries lie far apart where cells are flat.
        scale = 1 / np.sqrt(np.where(there[pick] & (scale > 0), scale, 1.0))
        both_scales = scale[:, :, None] * scale[:, None, :]
        held = unit * ~there[pick, :, None]
        inverse = np.linalg.inv(np.where(both, blocks[pick] * both_scales, 0.0) + held)
        out[pick] = np.where(both, (inverse + inverse.swapaxes(1, 2)) / 2 * both_scales, 0.0)
    return out
