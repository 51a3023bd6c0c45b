"""One order of the Fourier series: its chain, how its motions look, how they move the edge."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from scipy.linalg import eigh

from stickout.fem.revolved.bar import Cells, RevolvedBar
from stickout.fem.revolved.chain import Chain
from stickout.fem.revolved.polynomials import polynomials
from stickout.fem.revolved.section import AXIAL, BENDING, TORSION, Unknowns, shares_of, unknowns_of
from stickout.fem.solid.edge import carried
from stickout.meshes.tagged import FloatArray

BAR: Final = "bar"
"""The region that hangs over."""

# Up to this share of the radius beyond a ring a point counts as on it: a mesh's middle nodes lie there.
_BESIDE: Final = 2e-3


@dataclass(frozen=True)
class Way:
    """A kind of motion: order of the series, components, and by how much it is turned about the bar [rad]."""

    order: int
    parts: tuple[int, ...]
    turn: float = 0.0


SIDEWAYS: Final = Way(1, BENDING)
UPWARD: Final = Way(1, BENDING, np.pi / 2)
ROUND: Final = Way(0, TORSION)
ALONG: Final = Way(0, AXIAL)


class Wave:
    """All motions of one way, as if not turned.

    Parameters
    ----------
    bar
        The bar.
    cells
        Its cells.
    order, parts
        Order of the series and the components that take part.
    """

    def __init__(self, bar: RevolvedBar, cells: Cells, *, order: int, parts: tuple[int, ...]) -> None:
        self._bar, self._cells = bar, cells
        self.unknowns: Unknowns = unknowns_of(cells, order, parts=parts)
        self._shares = [
            shares_of(cells, self.unknowns, length=length, number=n) for n, length in enumerate(bar.lengths)
        ]

    @property
    def names(self) -> list[str]:
        """Return the names of regions and bed."""
        return list(dict.fromkeys(name for shares in self._shares for name in shares))

    @cached_property
    def chain(self) -> Chain:
        """Return its sections joined along the bar."""
        return Chain(self._cells, self._shares, held=self._bar.held)

    @property
    def lowest_of_sections(self) -> float:
        """Return the least square of a frequency [1/s^2] of an endless bar of any of the makes, unheld."""
        least = np.inf
        beds = {one.bed[0] for one in self._bar.lengths if one.bed is not None}
        for shares in self._shares:
            rings = [share for name, share in shares.items() if name not in beds]
            mass = np.sum([share.mass for share in rings], axis=0)
            own = np.ix_(*[np.flatnonzero(np.diag(mass))] * 2)
            across = np.sum([share.across for share in rings], axis=0)
            least = min(least, float(eigh(across[own], mass[own], eigvals_only=True)[0]))
        return least

    def start(self, count: int) -> FloatArray:
        """Return bar-like motions that start a search, shape (n_unknowns, count)."""
        m, radii = self.unknowns.order, self.unknowns.radii
        sort = np.zeros((len(radii), 3))
        sort[:, 0], sort[:, 1], sort[:, 2] = float(m > 0), -float(m > 0), float(m == 0)
        if m == 0:
            sort[:, 1] = radii / radii[-1]
        if m > 1:
            sort[:, :2] *= (radii / radii[-1])[:, None]
        across = np.tensordot(self.unknowns.spread, sort, axes=([0, 1], [0, 1]))
        x = self.along()
        waves = np.sin(np.outer((x - x[0]) / (x[-1] - x[0]), (np.arange(count) + 0.5) * np.pi))
        if not self._bar.held:
            waves = np.concatenate([np.ones((len(x), 1)), waves[:, : count - 1]], axis=1)
        return self.chain.gather(waves[:, None, :] * across[None, :, None])

    def along(self) -> FloatArray:
        """Return the places of the nodes along the bar [m]."""
        x, given = self._cells.x, polynomials(self._cells.fine.along)
        inner = x[:-1, None] + np.diff(x)[:, None] * given.nodes[1:]
        return np.concatenate([x[:1], inner.ravel()])

    def edge(self, turn: float) -> FloatArray:
        """Return the motion of the edge from the unknowns of the chain, shape (3, n_unknowns).

        It rides rigidly on the mean translation and mean rotation of the end face.
        """
        mean, first = self.section_means(len(self._bar.lengths) - 1)
        shift, tilt = np.zeros((2, 3, mean.shape[-1]))
        if self.unknowns.order == 0:
            shift[0], tilt[0] = mean[2], first[1] / 2
        if self.unknowns.order == 1:
            c, s = np.cos(turn), np.sin(turn)
            shift[1], shift[2] = np.outer([c, s], mean[0] - mean[1])
            # An upward edge of the face that moves along +x turns it about +y, a sideways one about -z.
            tilt[1], tilt[2] = s * first[2], -c * first[2]
        lever = self._bar.edge - np.array([self._bar.lengths[-1].stop, 0.0, 0.0])
        moved = np.einsum("ij,jn->in", carried(lever[None])[0], np.concatenate([shift, tilt]))
        out = np.zeros((3, self.chain.n_unknowns))
        there = self.chain.tip >= 0
        out[:, self.chain.tip[there]] = moved[:, there]
        return out

    def section_means(self, number: int, region: str | None = None) -> tuple[FloatArray, FloatArray]:
        """Return a section's mean motion, and its first moment over the second, (3, n_section) each.

        Parameters
        ----------
        number
            Number of the length that the section is of.
        region
            The region whose rings count; None: all.
        """
        length, of = self._bar.lengths[number], self._cells.ring[number]
        mine = [place for place, ring in enumerate(length.rings) if region in (None, ring.region)]
        inner, outer = length.rings[mine[0]].inner, length.rings[mine[-1]].outer
        columns = np.flatnonzero(np.isin(of, mine))
        given, size = polynomials(self._cells.fine.across), np.diff(self._cells.r)[columns]
        radius = self._cells.r[columns, None] + size[:, None] * given.points
        weight = radius * given.weights * size[:, None] * self.unknowns.round_factor
        nodes = columns[:, None] * (len(given.nodes) - 1) + np.arange(len(given.nodes))
        u = np.tensordot(given.values, self.unknowns.spread[nodes], axes=(1, 1)).swapaxes(0, 1)
        mean = np.einsum("cq,cqin->in", weight, u) / (np.pi * (outer**2 - inner**2))
        first = np.einsum("cq,cqin->in", weight * radius, u) / (np.pi * (outer**4 - inner**4) / 4)
        return mean, first

    def overhanging(self, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return how much the overhanging bar moves as rigid sections, and how much at all.

        Parameters
        ----------
        columns
            Unknowns of the chain, shape (n_unknowns, n).

        Returns
        -------
        tuple of arrays
            Squared motion over the volume: sideways and tilt, twist, along, (3, n); in all, shape (n,).
        """
        nodal, given = self.chain.spread(columns), polynomials(self._cells.fine.along)
        degree, sizes = self._cells.fine.along, np.diff(self._cells.x)
        rigid, whole = np.zeros((3, columns.shape[1])), np.zeros(columns.shape[1])
        for number, shares in enumerate(self._shares):
            if BAR not in shares:
                continue
            material = next(r.material for r in self._bar.lengths[number].rings if r.region == BAR)
            cells = np.flatnonzero(self._cells.length == number)
            moved = nodal[cells[:, None] * degree + np.arange(degree + 1)]
            moved = np.einsum("qa,cank->cqnk", given.values, moved)
            volume = given.weights * sizes[cells, None]
            mass = shares[BAR].mass / material.density
            whole += np.einsum("cq,cqnk,cqnk->k", volume, moved, mass @ moved)
            rigid += np.einsum("cq,icqk->ik", volume, self._rigid(number, moved))
        return rigid, whole

    def _rigid(self, number: int, moved: FloatArray) -> FloatArray:
        """Return squared motion of rigid sections a length: sideways and tilt, twist, along, (3, ...)."""
        mine = [one for one in self._bar.lengths[number].rings if one.region == BAR]
        radii = [mine[0].inner, mine[-1].outer]
        area = np.pi * (radii[-1] ** 2 - radii[0] ** 2)
        second = np.pi * (radii[-1] ** 4 - radii[0] ** 4) / 4
        mean, first = self.section_means(number, BAR)
        out = np.zeros((3, *moved.shape[:2], moved.shape[3]))
        if self.unknowns.order == 0:
            out[1] = 2 * second * ((first[1] / 2) @ moved) ** 2
            out[2] = area * (mean[2] @ moved) ** 2
        if self.unknowns.order == 1:
            out[0] = area * ((mean[0] - mean[1]) @ moved) ** 2 + second * (first[2] @ moved) ** 2
        return out

    def most(self, columns: FloatArray) -> FloatArray:
        """Return the motion of the point that moves most under columns (n_unknowns, n): (n,)."""
        nodal = self.chain.spread(columns)
        moved = np.einsum("rin,xnk->xrik", self.unknowns.spread, nodal, optimize=True) ** 2
        most = np.maximum(moved[:, :, 0] + moved[:, :, 2], moved[:, :, 1])
        return np.asarray(np.sqrt(most.max(axis=(0, 1))))

    def motion(self, points: FloatArray, columns: FloatArray, *, turn: float) -> FloatArray:
        """Return the motion of points [m], (n_points, 3), under columns (n_unknowns, n): (n_points, 3, n)."""
        x, at_x = np.unique(np.round(points[:, 0], 12), return_inverse=True)
        radius = np.hypot(points[:, 1], points[:, 2])
        r, at_r = np.unique(np.round(self._onto_rings(radius), 12), return_inverse=True)
        degrees = self._cells.fine
        along = _interpolation(self._cells.x, x, degrees.along)
        across = _interpolation(self._cells.r, r, degrees.across)
        section = np.tensordot(across, self.unknowns.spread, axes=1)
        grid = np.tensordot(along, self.chain.spread(columns), axes=1)
        moved = np.einsum("rin,xnk->xrik", section, grid, optimize=True)[at_x, at_r]
        angle = np.arctan2(points[:, 2], points[:, 1])
        # Of order 0 there is a twist, which has no cosine, or none of it: both factors are 1.
        phase = self.unknowns.order * angle - turn
        cosines, sines = (np.cos(phase), np.sin(phase)) if self.unknowns.order else np.ones((2, len(points)))
        radial, around = moved[:, 0] * cosines[:, None], moved[:, 1] * sines[:, None]
        c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
        out: FloatArray = np.stack(
            [moved[:, 2] * cosines[:, None], radial * c - around * s, radial * s + around * c], axis=1
        )
        return out

    def _onto_rings(self, radius: FloatArray) -> FloatArray:
        """Return radii of which those just beyond a ring lie on it."""
        rings = np.array(sorted({r for one in self._bar.lengths for r in one.radii}))
        nearest = rings[np.abs(radius[:, None] - rings).argmin(axis=1)]
        return np.where(np.abs(radius - nearest) < _BESIDE * rings[-1], nearest, radius)


def _interpolation(lines: FloatArray, places: FloatArray, degree: int) -> FloatArray:
    """Return values of all the nodes' polynomials at places, shape (n_places, n_nodes)."""
    cell = np.clip(np.searchsorted(lines, places) - 1, 0, len(lines) - 2)
    local = (places - lines[cell]) / np.diff(lines)[cell]
    out = np.zeros((len(places), (len(lines) - 1) * degree + 1))
    columns = cell[:, None] * degree + np.arange(degree + 1)
    np.put_along_axis(out, columns, polynomials(degree).at(local), axis=1)
    return out
