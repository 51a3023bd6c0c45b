"""What the spaces of one mesh tell: the modes of all its symmetric parts in one order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stickout.fem.solid.edge import carried
from stickout.fem.solid.kinds import PlaneMotions, named_kinds, plane_motions, shares_of
from stickout.fem.solid.model import Model
from stickout.fem.solid.symmetry import Part
from stickout.fem.sweep.factors import Stretch
from stickout.fem.sweep.points import Points
from stickout.fem.sweep.reduced_basis import Reduced, Space
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray

# Below this share of twice its mean motion a mode does not move the edge.
_STILL = 2e-4


@dataclass(frozen=True)
class Told:
    """What one mesh tells at some points; modes of all parts in one order, shape (n_points, n, ...).

    Attributes
    ----------
    frequency_hz
        Frequencies [Hz], rising.
    error
        Estimated relative error of each that the space adds.
    kinds
        Kind of each mode, one list a point.
    part
        Number of the symmetric part that each mode is of, shape (n_points, n).
    edge
        Motion of the edge in each [kg^-1/2], (n_points, n, 3).
    moves
        Whether a mode moves the edge at all.
    energy
        Strain energy [J] in every region and tie.
    compliance
        Static compliance at the edge [m/N], shape (n_points, 3, 3).
    compliance_error
        Estimated relative error of its trace, shape (n_points,).
    """

    frequency_hz: FloatArray
    error: FloatArray
    kinds: Sequence[Sequence[str]]
    part: IntArray
    edge: FloatArray
    moves: BoolArray
    energy: Mapping[str, FloatArray]
    compliance: FloatArray
    compliance_error: FloatArray


class Union:
    """The modes that the spaces of all parts hold at some points.

    Parameters
    ----------
    owners
        Number of the part whose space each part has: its own, or that of the part it is equal to.
    spaces
        Number of a part -> its space.
    points
        Where.
    wanted
        How many modes.
    """

    def __init__(
        self, owners: Sequence[int], spaces: Mapping[int, Space], *, points: Points, wanted: int
    ) -> None:
        own = {number: space.reduced(points, wanted=wanted) for number, space in spaces.items()}
        self.points, self.owners = points, owners
        self.spaces = [spaces[n] for n in owners]
        self.reduced: list[Reduced] = [own[n] for n in owners]
        values = self.joined([one.values for one in self.reduced])
        self.pick: IntArray = np.argsort(values, axis=1, kind="stable")[:, :wanted]
        bounds = np.cumsum([0, *[one.values.shape[1] for one in self.reduced]])
        self.part_of: IntArray = np.searchsorted(bounds, self.pick, side="right") - 1

    @staticmethod
    def joined(values: Sequence[FloatArray]) -> FloatArray:
        """Return values of the parts' modes (n_points, m, ...) side by side."""
        return np.concatenate(values, axis=1)

    def picked(self, values: Sequence[FloatArray]) -> FloatArray:
        """Return values of the parts' modes (n_points, m, ...) for the wanted modes, in order."""
        joined = self.joined(values)
        index = self.pick.reshape(*self.pick.shape, *[1] * (joined.ndim - 2))
        return np.asarray(np.take_along_axis(joined, index, axis=1))

    @cached_property
    def compliance(self) -> FloatArray:
        """Return the compliance at the edge [m/N], shape (n_points, 3, 3)."""
        flex = sum(
            one.flex if owner == n else across(across(one.flex).swapaxes(1, 2))
            for n, (owner, one) in enumerate(zip(self.owners, self.reduced, strict=True))
        )
        lever = carried(self.points.lever)
        total = lever @ np.asarray(flex) @ lever.swapaxes(1, 2)
        return np.asarray((total + total.swapaxes(1, 2)) / 2)

    @property
    def worst(self) -> FloatArray:
        """Return the greatest relative error of a wanted frequency or of the compliance, (n_points,)."""
        return np.asarray(np.maximum(self.error.max(axis=1), self.compliance_error))

    @property
    def error(self) -> FloatArray:
        """Return the estimated relative error of every wanted frequency, shape (n_points, n)."""
        return self.picked([one.error for one in self.reduced]) / 2

    @property
    def compliance_error(self) -> FloatArray:
        """Return the estimated relative error of the compliance's trace, shape (n_points,)."""
        missed = np.sum([one.compliance_error.sum(axis=1) for one in self.reduced], axis=0)
        return np.asarray(missed / np.trace(self.compliance, axis1=1, axis2=2))

    def edge_in_space(self, number: int) -> FloatArray:
        """Return the motion of the edge in every shape of a part's space, shape (n_points, 3, n_space)."""
        face = self.spaces[number].face
        if self.owners[number] != number:
            face = across(face)
        return np.asarray(carried(self.points.lever) @ face)

    def told(self, motions: Mapping[int, Motions], stretch: FloatArray) -> Told:
        """Return what the modes are.

        Parameters
        ----------
        motions
            How the bar moves in the shapes of each part.
        stretch
            Stretch of the bar's end at each point, shape (n_points,).
        """
        edges = [self.edge_in_space(n) @ one.shapes for n, one in enumerate(self.reduced)]
        shares, sizes = zip(
            *[motions[o].of(one.shapes, stretch) for o, one in zip(self.owners, self.reduced, strict=True)],
            strict=True,
        )
        energy = [
            space.energies(self.points, one.shapes)
            for space, one in zip(self.spaces, self.reduced, strict=True)
        ]
        edge = self.picked([each.swapaxes(1, 2) for each in edges])
        values = self.picked([one.values for one in self.reduced])
        return Told(
            frequency_hz=np.sqrt(np.maximum(values, 0.0)) / (2 * np.pi),
            error=self.error,
            kinds=[named_kinds(rows) for rows in self.picked(shares)],
            part=self.part_of,
            edge=edge,
            moves=np.linalg.norm(edge, axis=2) > _STILL * self.picked(sizes),
            energy={name: self.picked([e[name] for e in energy]) for name in energy[0]},
            compliance=self.compliance,
            compliance_error=self.compliance_error,
        )


@dataclass(frozen=True)
class Motions:
    """How the overhanging bar moves in the shapes of a space: for the kinds of modes.

    Attributes
    ----------
    planes
        Rigid motions of its planes in every shape, shape (n_space, n_planes, 6).
    total
        Volume of each plane that stands still, and that is stretched, shape (2, n_planes).
    whole
        Squared motion over the volume that stands still, and that is stretched, (2, n_space, n_space).
    """

    planes: FloatArray
    total: FloatArray
    whole: FloatArray

    @staticmethod
    def in_space(part: Part, space: Space, *, model: Model, stretch: Stretch) -> Motions:
        """Return the motions in the shapes of a part's space."""
        mesh = model.mesh
        shapes = part.whole(space.basis, len(mesh.points)).transpose(2, 0, 1)
        found: PlaneMotions = plane_motions(mesh, shapes)
        long = mesh.points[found.nodes, 0] > stretch.start
        moved = shapes[:, found.nodes].reshape(len(shapes), -1)
        weights = [np.where(side, found.weight, 0.0) for side in (~long, long)]
        return Motions(
            planes=found.motion,
            total=np.array([np.bincount(found.plane, w, len(found.total)) for w in weights]),
            whole=np.array([(moved * np.repeat(w, 3)) @ moved.T for w in weights]),
        )

    def of(self, shapes: FloatArray, stretch: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the shares of the kinds, (n_points, m, 4), and the mean motion, (n_points, m).

        Parameters
        ----------
        shapes
            Shapes in the space, (n_points, n_space, m).
        stretch
            Stretch at each point, shape (n_points,).
        """
        n_points, n, m = shapes.shape
        flat = shapes.transpose(0, 2, 1).reshape(-1, n)
        at = np.repeat(stretch, m)[:, None]
        total = self.total[0] + at * self.total[1]
        moved = (flat @ self.planes.reshape(n, -1)).reshape(len(flat), -1, 6)
        squares = np.einsum("ap,apc->ac", total, moved**2)
        still, long = (np.einsum("an,an->a", flat, flat @ w) for w in self.whole)
        whole = still + at[:, 0] * long
        size = np.sqrt(whole / total.sum(axis=1))
        return shares_of(squares, whole).reshape(n_points, m, 4), size.reshape(n_points, m)


def across(face: FloatArray) -> FloatArray:
    """Return translations and rotations (..., 6, n) seen with y and z changed over: rotations turn about."""
    return np.concatenate([face[..., [0, 2, 1], :], -face[..., [3, 5, 4], :]], axis=-2)
