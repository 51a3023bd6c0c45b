"""How sections of a bar of revolution move as rigid ones: for the edge on the last, for kinds of modes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.revolved.bar import Ring
from stickout.fem.revolved.grid import Grid
from stickout.fem.revolved.section import Unknowns
from stickout.fem.solid.kinds import KINDS
from stickout.meshes.tagged import FloatArray, IntArray

SHIFT: Final = "shift"
TILT: Final = "tilt"
TWIST: Final = "twist"
STRETCH: Final = "stretch"
_KIND: Final = {SHIFT: "bending", TILT: "bending", TWIST: "torsion", STRETCH: "axial"}


@dataclass(frozen=True)
class Rigid:
    """Rigid motions of a section in one order of the series.

    Attributes
    ----------
    names
        Which: sideways or tilted, twisted or along the bar.
    of
        Each of them [m or rad] from the unknowns of the section, shape (n_rigid, n).
    size
        Integral over the section of the squared motion that a unit of each means, shape (n_rigid,).
    """

    names: Sequence[str]
    of: FloatArray
    size: FloatArray

    @property
    def kind(self) -> list[int]:
        """Return the number among ``KINDS`` of each."""
        return [KINDS.index(_KIND[name]) for name in self.names]

    def translation_and_rotation(self, turn: float) -> FloatArray:
        """Return translation along and rotation about x, y, z from each, (6, n_rigid), turned about the bar.

        Parameters
        ----------
        turn
            Angle [rad] from y to the direction that the section moves in.
        """
        c, s = np.cos(turn), np.sin(turn)
        six = {
            SHIFT: (0.0, c, s, 0.0, 0.0, 0.0),
            # An upward edge of the face that moves along +x turns it about +y, a sideways one about -z.
            TILT: (0.0, 0.0, 0.0, 0.0, s, -c),
            TWIST: (0.0, 0.0, 0.0, 1.0, 0.0, 0.0),
            STRETCH: (1.0, 0.0, 0.0, 0.0, 0.0, 0.0),
        }
        return np.array([six[name] for name in self.names]).reshape(-1, 6).T


def rigid_of(unknowns: Unknowns, rings: Sequence[tuple[int, Ring]], *, ring: IntArray) -> Rigid:
    """Return the mean motion and mean rotation of some rings of a section.

    Parameters
    ----------
    unknowns
        The unknowns of the section.
    rings
        The rings from inside out, with their numbers in its length.
    ring
        Number of the ring that each cell across belongs to.

    Source
    ------
    Least squares, as ``stickout.fem.solid.edge`` has it on a mesh; computed here.
    """
    own = {place for place, _ in rings}
    inner, outer = rings[0][1].inner, rings[-1][1].outer
    area = np.pi * (outer**2 - inner**2)
    second = np.pi * (outer**4 - inner**4) / 4
    mean, first = unknowns.round_factor * _moments(
        unknowns.grid, [n for n, place in enumerate(ring.tolist()) if place in own]
    )
    u, v, w = unknowns.spread.transpose(1, 0, 2)
    rows: dict[str, tuple[FloatArray, float]] = {}
    if unknowns.order == 1:
        rows = {SHIFT: (mean @ (u - v) / area, area), TILT: (first @ w / second, second)}
    elif unknowns.order == 0:
        if 1 in unknowns.parts:
            rows[TWIST] = first @ v / (2 * second), 2 * second
        if 2 in unknowns.parts:
            rows[STRETCH] = mean @ w / area, area
    of = np.array([row for row, _ in rows.values()]).reshape(len(rows), u.shape[1])
    return Rigid(list(rows), of, np.array([size for _, size in rows.values()]))


def _moments(grid: Grid, columns: Sequence[int]) -> FloatArray:
    """Return integrals over some cells of every node's polynomial times r, and times r^2, (2, n_nodes)."""
    degree = grid.degree
    out = np.zeros((2, len(grid.nodes)))
    for column in columns:
        out[:, column * degree : column * degree + degree + 1] += grid.moments[:, column]
    return out
