"""The spaces of all symmetric parts of like set-ups, grown until every point is served."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stickout.fem.compare.inputs import NORMAL, SHEAR, joint_part
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.edge import face_motion
from stickout.fem.solid.model import Model, held_model, tie_layers
from stickout.fem.solid.modes import SPARE, start_shapes
from stickout.fem.solid.setting import added_mass, elastic, region_materials, support_of
from stickout.fem.solid.slab import Ties
from stickout.fem.study.study import mesh_of
from stickout.fem.sweep.factors import Stretch
from stickout.fem.sweep.points import Points, bare, point_of
from stickout.fem.sweep.reduced_basis import Space
from stickout.fem.sweep.terms import PartTerms, stretch_of
from stickout.fem.sweep.told import Motions, Told, Union
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray, IntArray

# Steps of inverse iteration at the reference before any other point is looked at.
_AT_REFERENCE = 2
_MOST_ROUNDS = 40
# So many points are looked at while the spaces grow; all of them at the end.
_LOOKED_AT = 16


class Spaces(ABC):
    """The spaces of like set-ups in one discretisation, grown where they miss; ``_begin`` fills them first.

    Parameters
    ----------
    setup
        The longest of the set-ups, in its own frame: the reference.
    """

    unknowns: int
    """Unknowns of the discretisation."""

    def __init__(self, setup: Setup) -> None:
        self._reference = Points.of([point_of(setup)])
        self._wanted = setup.solve.modes + SPARE
        self._owners: Sequence[int] = ()
        self._spaces: dict[int, Space] = {}
        self._served: Union | None = None

    @property
    def n_parts(self) -> int:
        """Return the number of symmetric parts."""
        return len(self._owners)

    @abstractmethod
    def _begin(self, space: Space, number: int) -> FloatArray:
        """Return the first shapes of a part's space as columns."""

    @abstractmethod
    def _motions(self, space: Space, number: int) -> Motions:
        """Return how the overhanging bar moves in the shapes of a part's space."""

    @abstractmethod
    def _stretched(self, points: Points) -> FloatArray:
        """Return the stretch of the bar's end at each point, shape (n_points,)."""

    def grow(self, points: Points, tolerance: float) -> None:
        """Grow the spaces until no point is estimated to miss by more than a tolerance, or give up.

        Parameters
        ----------
        points
            Where: some of those that the spaces were made for.
        tolerance
            Greatest relative error of a frequency, and of the compliance.

        Raises
        ------
        SolveError
            The stiffness is not positive at a point.
        """
        if not all(space.basis.shape[1] for space in self._spaces.values()):
            self._start()
        # Even steps would meet the same kind of point again and again where kinds take turns.
        looked_at = np.unique(np.linspace(0, len(points) - 1, _LOOKED_AT).astype(np.int64))
        for _ in range(_MOST_ROUNDS):
            self._settle(points.pick(looked_at), tolerance)
            union = self._served = self._union(points)
            missed = np.setdiff1d(_worst_of_each(union.worst, tolerance), looked_at)
            if not missed.size:
                return
            looked_at = np.append(looked_at, missed)

    def told(self, points: Points) -> Told:
        """Return what is told at some points."""
        motions = {number: self._motions(space, number) for number, space in self._spaces.items()}
        served = self._served
        union = served if served is not None and served.points is points else self._union(points)
        return union.told(motions, self._stretched(points))

    def _settle(self, points: Points, tolerance: float) -> None:
        """Grow the spaces until none of a few points misses, or nothing new comes."""
        for _ in range(_MOST_ROUNDS):
            union = self._union(points)
            at = int(np.argmax(union.worst))
            if union.worst[at] <= tolerance or not self._step(union, at, tolerance):
                return

    def _union(self, points: Points) -> Union:
        return Union(self._owners, self._spaces, points=points, wanted=self._wanted)

    def _start(self) -> None:
        """Take the first shapes into the spaces, and what follows from them at the reference."""
        for number, space in self._spaces.items():
            if not space.basis.shape[1]:
                space.grow(self._begin(space, number))
        for _ in range(_AT_REFERENCE):
            union = self._union(self._reference)
            for number, space in self._spaces.items():
                space.grow(space.solve(unit(self._columns(union, 0, number))))

    def _step(self, union: Union, at: int, tolerance: float) -> bool:
        """Take one step of inverse iteration at a point where the spaces miss; return if that was new."""
        point, new = union.points.one(at), 0
        slack = tolerance * float(np.trace(union.compliance[at])) / self.n_parts
        for number, space in self._spaces.items():
            one = union.reduced[number]
            mine = int(np.sum(union.part_of[at] == number))
            moving = bool(np.any(one.error[at, :mine] / 2 > tolerance))
            static = bool(one.compliance_error[at].sum() > slack)
            if moving or static:
                columns = [unit(self._columns(union, at, number))] if moving else []
                columns += [unit(space.terms.loads)] if static else []
                self._served = None  # what was found with smaller spaces holds no more
                new += space.grow(space.terms.factored(point).solve(np.hstack(columns)))
        return new > 0

    def _columns(self, union: Union, at: int, number: int) -> FloatArray:
        """Return the mass times a part's wanted modes at a point, and times one more, as columns."""
        space, one = self._spaces[number], union.reduced[number]
        mine = int(np.sum(union.part_of[at] == number)) + 1
        return space.pushed(union.points.one(at), space.basis @ one.shapes[at, :, :mine])


def _worst_of_each(errors: FloatArray, tolerance: float) -> IntArray:
    """Return the place of the worst in each run of errors, of those above a tolerance."""
    runs = np.array_split(np.arange(len(errors)), min(len(errors), _LOOKED_AT))
    places = np.array([run[np.argmax(errors[run])] for run in runs])
    return np.asarray(places[errors[places] > tolerance])


class MeshSpaces(Spaces):
    """The spaces of all symmetric parts of one mesh of like set-ups.

    Parameters
    ----------
    setup
        The set-up that the mesh is made of, in its own frame: the longest of them.
    fineness
        How fine.
    points
        The points that will be asked for.

    Raises
    ------
    SolveError
        The stiffness is not positive.
    """

    def __init__(self, setup: Setup, fineness: Fineness, *, points: Points) -> None:
        super().__init__(setup)
        self._model = split_model(setup, fineness)
        self._stretch: Stretch = stretch_of(self._model.mesh)
        self.unknowns = self._model.layout.n_unknowns
        parts = self._model.parts
        self._owners = [n if part.equal is None else part.equal.part for n, part in enumerate(parts)]
        for number in sorted(set(self._owners)):
            terms = PartTerms(parts[number], stretch=self._stretch, reference=self._reference)
            self._spaces[number] = Space(terms, points, reference=self._reference)
        self._shapes = start_shapes(self._model.mesh.points, spare=4 if self.n_parts == 1 else 1)

    def _begin(self, space: Space, number: int) -> FloatArray:
        """Return static shapes under inertia of bar-like and random motions, and under the end's loads."""
        columns = self._model.parts[number].folded(self._shapes)
        size = np.linalg.norm(columns, axis=0)
        pushed = space.pushed(self._reference, columns[:, size > 1e-6 * size.max()])
        return space.solve(np.hstack([unit(pushed), unit(space.terms.loads)]))

    def _motions(self, space: Space, number: int) -> Motions:
        part = self._model.parts[number]
        return Motions.in_space(part, space, model=self._model, stretch=self._stretch)

    def _stretched(self, points: Points) -> FloatArray:
        return self._stretch.of(points)


def split_model(setup: Setup, fineness: Fineness) -> Model:
    """Return the model of a set-up with both ways of every tie apart, loaded by the six of its end face."""
    setup = bare(setup)
    mesh = mesh_of(setup, fineness)
    materials = {name: elastic(m) for name, m in region_materials(setup, mesh).items()}
    support = support_of(setup)
    model = held_model(mesh, materials, support=support, added=added_mass(setup, mesh))
    ties: dict[str, Ties] = {}
    for name, (normal, shear) in tie_layers(mesh, support).items():
        ties |= {joint_part(name, NORMAL): normal, joint_part(name, SHEAR): shear}
    return replace(model, ties=ties, loads=face_motion(mesh).spread(len(mesh.points)))


def unit(columns: FloatArray) -> FloatArray:
    """Return columns of length one; those that are zero are left out."""
    size = np.linalg.norm(columns, axis=0)
    keep = size > 1e-12 * size.max(initial=1e-300)
    unit: FloatArray = columns[:, keep] / size[keep]
    return unit
