"""The bore of a meshed block, and the springs between it and the skin of a bar of revolution in it.

The springs lie on the true cylinder. A facet of the bore spans a length and an angle of it, and moves by
products of powers of where one is between its sides: so every integral is one along times one round.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.revolved.grid import values_of
from stickout.fem.revolved.wave import Way
from stickout.fem.solid.slab import Ties
from stickout.fem.solid.supports import Spring
from stickout.meshes.shape import QUAD8, serendipity
from stickout.meshes.tagged import FloatArray, IntArray

# Powers of the place round and along of which a facet's functions of the second order are made.
_ROUND: Final = np.array([0, 1, 0, 1, 2, 0, 2, 1])
_ALONG: Final = np.array([0, 0, 1, 1, 0, 2, 1, 2])
# Gauss points round a facet, which spans an eighth of a turn or less: exact enough up to some twenty waves.
_POINTS: Final = 12


@dataclass(frozen=True)
class Bore:
    """Facets of a bore, in rows along it, and the springs on them.

    Attributes
    ----------
    facets
        Nodes of each facet, its first two corners round the bore and the next after them along it,
        shape (n_rows, n_round, 8).
    x
        Where each row begins and ends [m], shape (n_rows, 2).
    angle
        Where the facets of a row begin and end [rad], shape (n_round, 2).
    radius
        Radius of the bore [m].
    spring
        Stiffness per area.
    """

    facets: IntArray
    x: FloatArray
    angle: FloatArray
    radius: float
    spring: Spring

    @cached_property
    def nodes(self) -> IntArray:
        """Return the nodes of all facets, each once."""
        return np.unique(self.facets)

    @property
    def layer(self) -> FloatArray:
        """Return the stiffness per area along x, outward and round [N/m^3]."""
        return np.array([self.spring.shear, self.spring.normal, self.spring.shear])

    def ties(self) -> Ties:
        """Return the stiffness of the bore where all beyond the springs stands still."""
        round_, weight = np.polynomial.legendre.leggauss(_POINTS)
        along, length = np.polynomial.legendre.leggauss(3)
        s, t = np.meshgrid(round_, along, indexing="ij")
        values = serendipity(QUAD8, np.stack([s.ravel(), t.ravel()], axis=1))[0].reshape(_POINTS, 3, 8)
        pairs = np.einsum("t,sta,stb->sab", length, values, values)
        at, size = _points(self.angle, round_)
        axes = _axes(at)
        layer = np.einsum("esci,c,escj->esij", axes, self.layer, axes)
        of_angle = np.einsum("e,s,sab,esij->eaibj", self.radius * size, weight, pairs, layer, optimize=True)
        half = np.diff(self.x, axis=1)[:, 0] / 2
        stiffness = half[:, None, None, None] * of_angle.reshape(len(size), 24, 24)
        return Ties(self.facets.reshape(-1, 8), stiffness.reshape(-1, 24, 24))

    def joined(self, along: FloatArray, way: Way) -> FloatArray:
        """Return what a motion of the bore pulls at a bar's skin: (n_planes, n_parts, n_nodes, 3).

        Parameters
        ----------
        along
            What ``along`` gives of the wave that the bar moves in.
        way
            The way it does so.
        """
        turned = self._round(way)
        functions = np.linalg.inv(QUAD8[:, :1] ** _ROUND * QUAD8[:, 1:] ** _ALONG)
        column = np.searchsorted(self.nodes, self.facets)
        out = np.zeros((len(self.nodes), along.shape[1], len(way.parts), 3))
        for row, moments in zip(column, along, strict=True):
            pulled = np.einsum(
                "ka,ik,ecjk->eaicj", functions, moments[:, _ALONG], turned[..., _ROUND], optimize=True
            )
            np.add.at(out, row, pulled)
        return out.transpose(1, 2, 0, 3)

    def along(self, lines: FloatArray, degree: int) -> FloatArray:
        """Return integrals over each row of polynomials on cells times powers: (n_rows, n_planes, 3).

        Parameters
        ----------
        lines
            Lines between the cells along the bar's first length, which lies in the bore [m].
        degree
            Degree of the polynomials.
        """
        place, weight = np.polynomial.legendre.leggauss(degree + 2)
        out = np.zeros((len(self.x), (len(lines) - 1) * degree + 1, 3))
        for row, (start, stop) in enumerate(self.x):
            inside = lines[(lines > start) & (lines < stop)]
            ends = np.concatenate([[start], inside, [stop]])
            at, size = _points(np.stack([ends[:-1], ends[1:]], axis=1), place)
            values = values_of(lines, at.ravel(), degree=degree)
            between = (2 * at.ravel() - start - stop) / (stop - start)
            powers = between[:, None] ** np.arange(3)
            out[row] = (values * (size[:, None] * weight).reshape(-1, 1)).T @ powers
        return out

    def _round(self, way: Way) -> FloatArray:
        """Return integrals over each facet's angle of waves, axes, springs and powers.

        Shape (n_round, n_parts, 3, 3): parts of the way, x y z, powers.
        """
        place, weight = np.polynomial.legendre.leggauss(_POINTS)
        at, size = _points(self.angle, place)
        phase = way.order * at - way.turn
        cosine, sine = (np.cos(phase), np.sin(phase)) if way.order else np.ones((2, *phase.shape))
        # Components of a way are radial, round and along; axes and springs here begin with x.
        waves = np.stack([cosine, sine, cosine], axis=2)[..., list(way.parts)]
        which = [(1, 2, 0)[part] for part in way.parts]
        pull = np.einsum("esc,escj->escj", waves * self.layer[which], _axes(at)[:, :, which])
        powers = place[:, None] ** np.arange(3)
        found: FloatArray = np.einsum(
            "e,s,escj,sp->ecjp", self.radius * size, weight, pull, powers, optimize=True
        )
        return found


def _points(spans: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return places from -1 to 1 laid into spans (n, 2), shape (n, n_places), and half the spans' sizes."""
    half = (spans[:, 1] - spans[:, 0]) / 2
    return spans.mean(axis=1)[:, None] + half[:, None] * place, half


def _axes(angle: FloatArray) -> FloatArray:
    """Return x, outward and round at angles, each as x y z, shape (..., 3, 3)."""
    c, s, zero, one = np.cos(angle), np.sin(angle), np.zeros_like(angle), np.ones_like(angle)
    rows = [[one, zero, zero], [zero, c, s], [zero, -s, c]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def bore_of(points: FloatArray, facets: IntArray, *, spring: Spring) -> Bore:
    """Return a bore along x round the axis.

    Parameters
    ----------
    points
        Nodes of the block [m], shape (n_points, 3).
    facets
        Nodes of its facets, row by row along it, shape (n_facets, 8).
    spring
        Stiffness per area.
    """
    start, stop = (points[facets[:, corner], 0] for corner in (0, 3))
    rows = len(np.unique(np.round(start / np.ptp(points[:, 0]), 9)))
    laid = facets.reshape(rows, -1, 8)
    first = points[laid[0, :, :2], 1:]
    begin = np.arctan2(first[:, 0, 1], first[:, 0, 0])
    span = np.arctan2(first[:, 1, 1], first[:, 1, 0]) - begin
    span = (span + np.pi) % (2 * np.pi) - np.pi
    return Bore(
        facets=laid,
        x=np.stack([start.reshape(rows, -1)[:, 0], stop.reshape(rows, -1)[:, 0]], axis=1),
        angle=np.stack([begin, begin + span], axis=1),
        radius=float(np.hypot(*first[0, 0])),
        spring=spring,
    )
