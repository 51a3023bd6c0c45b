"""A small space of shapes for one symmetric part, grown where its estimate of the error asks for it.

The error of an eigenvalue is estimated by the residual in the norm of the inverse stiffness of the
reference, times how much softer a point may be: it is of second order, so a few shapes do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stickout.fem.errors import SolveError
from stickout.fem.solid.edge import carried
from stickout.fem.sweep.points import Points
from stickout.fem.sweep.terms import Solves, Term, Terms, by_owner, coefficients
from stickout.meshes.tagged import FloatArray

# Directions that are new by less than this part of their length are dropped.
_NEW = 1e-8
# Factors whose ratio varies by less than this go together.
_ALIKE = 1e-12
# Residuals are told by sums that cancel; below this relative eigenvalue error they are rounding.
_FLOOR = 1e-13
# Eigenvalues closer than this are one cluster: their gap does not widen the estimate.
_CLUSTER = 0.02


@dataclass(frozen=True)
class Reduced:
    """What a space tells of one part at some points.

    Attributes
    ----------
    values
        Eigenvalues [1/s^2], rising, shape (n_points, m).
    shapes
        Their mass-normalised shapes in the space, shape (n_points, n_space, m).
    error
        Estimated relative error of the eigenvalues, shape (n_points, m).
    flex
        Compliance of the six motions of the end face, shape (n_points, 6, 6).
    compliance_error
        Estimated error of its diagonal [m/N], shape (n_points, 3).
    """

    values: FloatArray
    shapes: FloatArray
    error: FloatArray
    flex: FloatArray
    compliance_error: FloatArray


@dataclass(frozen=True)
class _Groups:
    """Terms whose factors go together at all points, as one: ``weight[g, t]`` of term t in group g."""

    terms: Sequence[Term]
    weight: FloatArray
    first: Sequence[int]

    @staticmethod
    def of(terms: Sequence[Term], points: Points) -> _Groups:
        """Return the groups of some terms at some points."""
        factors = coefficients(terms, points)
        rows: list[FloatArray] = []
        first: list[int] = []
        for number in range(len(terms)):
            for row, leader in zip(rows, first, strict=True):
                ratio = factors[:, number] / factors[:, leader]
                if np.ptp(ratio) <= _ALIKE * abs(ratio[0]):
                    row[number] = ratio[0]
                    break
            else:
                rows.append(np.eye(len(terms))[number])
                first.append(number)
        return _Groups(terms, np.array(rows), first)

    def factors(self, points: Points) -> FloatArray:
        """Return the factor of every group at every point, shape (n_points, n_groups)."""
        return coefficients([self.terms[f] for f in self.first], points)

    def joined(self, images: Sequence[FloatArray]) -> list[FloatArray]:
        """Return the sums over each group of what its terms make of some columns."""
        stack = np.array(images)
        return [np.tensordot(row, stack, axes=1) for row in self.weight]


class Space:
    """Shapes of one part that serve all points of a family; it grows.

    Parameters
    ----------
    terms
        The part.
    points
        The points that are to be served.
    reference
        The point whose inverse stiffness measures residuals.
    """

    def __init__(self, terms: Terms, points: Points, *, reference: Points) -> None:
        self.terms = terms
        self._inverse: Solves = terms.factored(reference)
        self._groups = (_Groups.of(terms.stiffness, points), _Groups.of(terms.mass, points))
        self.basis = np.zeros((len(terms.loads), 0))
        self._inner = [np.zeros((len(each), 0, 0)) for each in (terms.stiffness, terms.mass)]
        self._face = np.zeros((terms.loads.shape[1], 0))
        self._sources = terms.loads
        self._gram = terms.loads.T @ self._inverse.solve(terms.loads)
        self._at = np.zeros((sum(len(g.first) for g in self._groups), 0), dtype=np.int64)

    @property
    def face(self) -> FloatArray:
        """Return translation and rotation of the end face in every shape, shape (6, n_space)."""
        return self._face

    def solve(self, columns: FloatArray) -> FloatArray:
        """Return the displacements under load columns (n_unknowns, n) at the reference."""
        return self._inverse.solve(columns)

    def grow(self, columns: FloatArray) -> int:
        """Take what is new in columns (n_unknowns, n) into the space; return how many shapes that was."""
        new = self._new(columns)
        count = new.shape[1]
        if not count:
            return 0
        images = [[term.apply(new) for term in each] for each in (self.terms.stiffness, self.terms.mass)]
        self._inner = [
            _bordered(inner, self.basis, new, each) for inner, each in zip(self._inner, images, strict=True)
        ]
        self.basis = np.hstack([self.basis, new])
        self._face = np.hstack([self._face, self.terms.loads.T @ new])
        joined = [g for group, each in zip(self._groups, images, strict=True) for g in group.joined(each)]
        sources = np.hstack(joined)
        riesz = self._inverse.solve(sources)
        cross = self._sources.T @ riesz
        start = self._sources.shape[1]
        self._gram = np.block([[self._gram, cross], [cross.T, sources.T @ riesz]])
        self._sources = np.hstack([self._sources, sources])
        place = start + np.arange(len(joined) * count).reshape(len(joined), count)
        self._at = np.hstack([self._at, place])
        return int(count)

    def pushed(self, point: Points, columns: FloatArray) -> FloatArray:
        """Return the mass at a point times columns (n_unknowns, n)."""
        factor = coefficients(self.terms.mass, point)[0]
        out = np.zeros_like(columns)
        for f, term in zip(factor, self.terms.mass, strict=True):
            out += f * term.apply(columns)
        if point.mass[0]:
            edge = carried(point.lever)[0] @ self.terms.loads.T
            out += point.mass[0] * (edge.T @ (edge @ columns))
        return out

    def reduced(self, points: Points, *, wanted: int) -> Reduced:
        """Return what the space tells at some points.

        Parameters
        ----------
        points
            Where.
        wanted
            How many of the lowest modes; fewer come back from a smaller space.
        """
        stiff, mass = self.matrices(points)
        low = np.linalg.inv(_lower(mass))
        values: FloatArray
        values, turn = np.linalg.eigh(low @ stiff @ low.swapaxes(1, 2))
        shapes = (low.swapaxes(1, 2) @ turn)[:, :, : min(wanted, len(self.basis[0]))]
        values = values[:, : shapes.shape[2]]
        bent = np.asarray(np.linalg.solve(stiff, np.broadcast_to(self._face.T, (*stiff.shape[:2], 6))))
        static = bent @ carried(points.lever).swapaxes(1, 2)
        soft = self._softness(points)
        error = self._mode_residual(points, values, shapes) * soft / np.maximum(values, 1e-300)
        return Reduced(
            values=values,
            shapes=shapes,
            error=np.maximum(error / _gaps(values), _FLOOR),
            flex=self._face @ bent,
            compliance_error=self._static_residual(points, static) * soft,
        )

    def matrices(self, points: Points) -> tuple[FloatArray, FloatArray]:
        """Return stiffness and mass in the space at some points, shape (n_points, n_space, n_space) each."""
        both = [
            np.tensordot(coefficients(terms, points), inner, axes=1)
            for terms, inner in zip((self.terms.stiffness, self.terms.mass), self._inner, strict=True)
        ]
        if points.mass.any():
            edge = self.edge(points)
            both[1] += points.mass[:, None, None] * (edge.swapaxes(1, 2) @ edge)
        return both[0], both[1]

    def edge(self, points: Points) -> FloatArray:
        """Return the motion of the edge in every shape at some points, shape (n_points, 3, n_space)."""
        return np.asarray(carried(points.lever) @ self._face)

    def energies(self, points: Points, shapes: FloatArray) -> dict[str, FloatArray]:
        """Return the strain energy [J] in every region and tie, shape (n_points, m) each.

        Parameters
        ----------
        points
            Where.
        shapes
            Shapes in the space, (n_points, n_space, m).
        """
        factors, out = coefficients(self.terms.stiffness, points), {}
        for owner, numbers in by_owner(self.terms.stiffness).items():
            matrix = np.tensordot(factors[:, numbers], self._inner[0][numbers], axes=1)
            out[owner] = np.einsum("pnm,pnm->pm", shapes, matrix @ shapes) / 2
        return out

    def _new(self, columns: FloatArray) -> FloatArray:
        """Return an orthonormal basis of what columns bring beyond the space."""
        length = np.linalg.norm(columns, axis=0)
        new = columns[:, length > _NEW * length.max(initial=1e-300)]
        new = new / np.linalg.norm(new, axis=0)
        for _ in range(2):
            new = new - self.basis @ (self.basis.T @ new)
        left, size, _ = np.linalg.svd(new, full_matrices=False)
        new = left[:, size > _NEW]
        return np.asarray(new - self.basis @ (self.basis.T @ new))

    def _softness(self, points: Points) -> FloatArray:
        """Return how much more the inverse stiffness of a point may yield than that of the reference.

        The least factor of any term over that of the reference: a bound where every term is positive, a
        measure where some are not (shape (n_points, 1)).
        """
        least = coefficients(self.terms.stiffness, points).min(axis=1, keepdims=True)
        return np.asarray(1 / least)

    def _mode_residual(self, points: Points, values: FloatArray, shapes: FloatArray) -> FloatArray:
        """Return the squared norms of ``K v - value M v``, shape (n_points, m)."""
        stiff, mass = (group.factors(points) for group in self._groups)
        c = np.zeros((len(points), len(self._gram), shapes.shape[2]))
        for g in range(stiff.shape[1]):
            c[:, self._at[g]] += stiff[:, g, None, None] * shapes
        for g in range(mass.shape[1]):
            c[:, self._at[stiff.shape[1] + g]] -= mass[:, g, None, None] * values[:, None] * shapes
        heavy = points.mass[:, None, None]
        if heavy.any():
            pushed = carried(points.lever).swapaxes(1, 2) @ (self.edge(points) @ shapes)
            c[:, : len(self._face)] -= heavy * values[:, None] * pushed
        return self._squares(c)

    def _static_residual(self, points: Points, static: FloatArray) -> FloatArray:
        """Return the squared norms of ``K u - load`` for unit forces at the edge, shape (n_points, 3)."""
        stiff = self._groups[0].factors(points)
        c = np.zeros((len(points), len(self._gram), 3))
        for g in range(stiff.shape[1]):
            c[:, self._at[g]] += stiff[:, g, None, None] * static
        c[:, : len(self._face)] -= carried(points.lever).swapaxes(1, 2)
        return self._squares(c)

    def _squares(self, c: FloatArray) -> FloatArray:
        return np.asarray(np.maximum(np.einsum("psm,psm->pm", c, self._gram @ c), 0.0))


def _bordered(
    inner: FloatArray, old: FloatArray, new: FloatArray, images: Sequence[FloatArray]
) -> FloatArray:
    """Return projected terms (n_terms, n, n) with rows and columns for new shapes."""
    n, count = old.shape[1], new.shape[1]
    out = np.zeros((len(inner), n + count, n + count))
    out[:, :n, :n] = inner
    for number, image in enumerate(images):
        cross = old.T @ image
        out[number, :n, n:], out[number, n:, :n] = cross, cross.T
        out[number, n:, n:] = new.T @ image
    return out


def _lower(mass: FloatArray) -> FloatArray:
    """Return the Cholesky factors of masses in the space.

    Raises
    ------
    SolveError
        A mass is not positive: the end of the bar was squeezed to nothing.
    """
    try:
        return np.asarray(np.linalg.cholesky(mass))
    except np.linalg.LinAlgError as error:
        raise SolveError("The mesh cannot be squeezed to an overhang so short.") from error


def _gaps(values: FloatArray) -> FloatArray:
    """Return the relative gap of each eigenvalue to its neighbours, those of its own cluster left out."""
    n = values.shape[1]
    apart = np.abs(1 - values[:, :, None] / np.maximum(values[:, None, :], 1e-300))
    apart = np.where(apart < _CLUSTER, 1.0, apart)
    apart[:, np.arange(n), np.arange(n)] = 1.0
    gaps: FloatArray = np.minimum(apart.min(axis=2), 1.0)
    return gaps
