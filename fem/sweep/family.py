"""Like set-ups answered together: few solves, many answers, each with its error told.

On every mesh one small space serves all of them; the limit of the meshes is taken for each set-up by
itself, as for a single one. What a space cannot tell to the wanted accuracy, or the meshes of one by itself
could tell better, is left to be solved alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from typing import Final

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.spread import grip_band, with_grip
from stickout.fem.force.case import CutCase, described_case
from stickout.fem.revolved.bar import RevolvedBar
from stickout.fem.setup.parts import Setup
from stickout.fem.study.accuracy import MOST_APART, MeshLimit, refine
from stickout.fem.study.band_ends import SOFT, STIFF, at_end
from stickout.fem.study.clamped_loss import mode_loss
from stickout.fem.study.frames import own_frame, turn_about_bar
from stickout.fem.study.mesh_levels import directions
from stickout.fem.study.meshes_limit import MeshNumbers, Tended, worst_error
from stickout.fem.study.of_revolution import SPACES, is_of_revolution, revolved_bar, spaces_limit
from stickout.fem.study.study import levels_of, unknowns_of
from stickout.fem.sweep.bases import MeshSpaces, Spaces
from stickout.fem.sweep.case_answer import REDUCED, CaseAnswer, Solved, case_answer
from stickout.fem.sweep.case_modes import CaseModes
from stickout.fem.sweep.points import Point, Points, point_of
from stickout.fem.sweep.revolved_spaces import RevolvedSpaces
from stickout.fem.sweep.told import Told
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray

# Part of the wanted accuracy that a space may add, and how much the limit of meshes magnifies it at most.
_SHARE: Final = 0.01
_MAGNIFIED: Final = 4.0
# Ratios over the bands of assumed numbers need no more.
_ROUGH: Final = 1e-3


@dataclass(frozen=True)
class _Mesh:
    """What one mesh told, by point; how large it is, and into how many parts it falls."""

    told: Told
    place: Mapping[str, int]
    unknowns: int
    parts: int

    def row(self, point: Point) -> int:
        """Return the row of a point."""
        return self.place[repr(point)]


def family_answers(setups: Sequence[Setup]) -> list[CaseAnswer | None]:
    """Return the answers to set-ups of one likeness; None for one that must be solved by itself.

    Parameters
    ----------
    setups
        The set-ups, checked, all of the same ``likeness`` in their own frames.

    Raises
    ------
    InputError
        A mode has no loss though a cut is described.
    SolveError
        A stiffness is not positive.

    Source
    ------
    Reduced basis with a residual estimate: Rozza, Huynh & Patera, Arch. Comput. Methods Eng. 15 (2008) 229
    (recalled, not opened); limit of meshes as stickout.fem.study.accuracy.
    """
    frames = [own_frame(one) for one in setups]
    straight = [frame for frame, _ in frames]
    points = [point_of(one) for one in straight]
    longest = max(straight, key=lambda one: one.bar.overhang_mm)
    accuracy = longest.solve.accuracy
    cases = _cut_cases(setups)
    rough = [
        point_of(end)
        for one, case in zip(straight, cases, strict=True)
        for end in _ends(one, cut=case is not None)
    ]
    solve = _over_polynomials if is_of_revolution(longest) else _over_meshes
    coarse, found = solve(longest, points, rough)
    answers: list[CaseAnswer | None] = []
    for setup, case, (frame, angle), one in zip(setups, cases, frames, found, strict=True):
        if one.added > accuracy / 2 or (one.worst > accuracy and one.finer_alone(frame)):
            answers.append(None)
            continue
        how = Solved(one.unknowns, REDUCED, one.added, accurate=one.worst <= accuracy)
        turn = turn_about_bar(angle)
        modes, solved = one.modes.turned(turn), _Coarse(coarse, turn)
        answers.append(case_answer(setup, modes, case=case, how=how, solve=solved))
    return answers


def _over_meshes(
    longest: Setup, points: Sequence[Point], rough: Sequence[Point]
) -> tuple[_Mesh, list[_Limit]]:
    """Return what the first mesh told, and the limit of the meshes at every point.

    Each point is refined as it would be by itself, over meshes that all of them share.
    """
    levels, accuracy, wanted = levels_of(longest), longest.solve.accuracy, longest.solve.modes
    size = cache(partial(unknowns_of, longest))
    solved: dict[Fineness, _Mesh] = {}

    def mesh(fineness: Fineness) -> _Mesh:
        if fineness not in solved:
            make = partial(MeshSpaces, longest, fineness)
            solved[fineness] = _mesh(make, accuracy, points=points, rough=() if solved else rough)
        return solved[fineness]

    refined = all(size(one) <= MOST_APART for one in directions(levels).values())

    def answered(point: Point) -> _Limit:
        used: list[_AtPoint] = []

        def at_point(fineness: Fineness) -> _AtPoint:
            used.append(_AtPoint(mesh(fineness), point))
            return used[-1]

        limit = refine(at_point, levels, accuracy=accuracy, wanted=wanted, size=size)
        return replace(_limit(limit, limit.finest, used, wanted), refined=refined)

    found = [answered(point) for point in points]
    return next(iter(solved.values())), found


def _over_polynomials(
    longest: Setup, points: Sequence[Point], rough: Sequence[Point]
) -> tuple[_Mesh, list[_Limit]]:
    """Return what the coarse space told of bars of revolution, and the limit of the spaces at every point."""
    told: list[_Mesh] = []
    found: list[_Limit] = []
    bar, wanted = revolved_bar(longest), longest.solve.modes
    for number, fine in enumerate(SPACES):
        make = partial(RevolvedSpaces, longest, fine)
        told.append(_mesh(make, longest.solve.accuracy, points=points, rough=() if number else rough))
        if number:
            found = [_limit_at(told, point, bar, wanted) for point in points]
            if max(one.worst for one in found) <= longest.solve.accuracy:
                break
    return told[0], [replace(one, refined=True) for one in found]


def _limit_at(told: Sequence[_Mesh], point: Point, bar: RevolvedBar, wanted: int) -> _Limit:
    """Return the limit of the spaces at a point, as for a single set-up; ``bar`` is the longest."""
    used = [_AtPoint(one, point) for one in told]
    layer = point.young["bar"] / point.normal if point.normal else None
    limit = spaces_limit([one.numbers for one in used], bar, wanted=wanted, layer=layer)
    return _limit(limit, used[-1], used[-2:], wanted)


def _mesh(
    make: Callable[..., Spaces], accuracy: float, *, points: Sequence[Point], rough: Sequence[Point] = ()
) -> _Mesh:
    """Return what is told at points that count, and at others that are only needed roughly."""
    exact, each = len(_unlike(points)), _unlike([*points, *rough])
    every = Points.of(each)
    spaces = make(points=every)
    counted = every.pick(slice(exact)) if exact < len(every) else every
    spaces.grow(counted, _SHARE * accuracy)
    if exact < len(every):
        spaces.grow(every, _ROUGH)
    place = {repr(point): row for row, point in enumerate(each)}
    return _Mesh(spaces.told(every), place, spaces.unknowns, spaces.n_parts)


def _unlike(points: Sequence[Point]) -> list[Point]:
    """Return points, none of them twice."""
    return list({repr(point): point for point in points}.values())


def _cut_cases(setups: Sequence[Setup]) -> list[CutCase | None]:
    """Return the cut of each set-up, one for all that cut alike; None where it is not described."""
    keys = [repr(one.cut) for one in setups]
    known = {key: described_case(one) for key, one in dict(zip(keys, setups, strict=True)).items()}
    return [known[key] for key in keys]


def _ends(setup: Setup, *, cut: bool) -> list[Setup]:
    """Return the set-up at the ends of the bands of its assumed numbers, and of its grip for a cut."""
    ends = [at_end(setup, SOFT), at_end(setup, STIFF)]
    if cut:
        band = grip_band(setup)
        ends += [with_grip(setup, band.low), with_grip(setup, band.high)]
    return ends


@dataclass(frozen=True)
class _Limit:
    """Modes in the limit of the meshes, the greatest error of what was asked for, the spaces' part of it.

    Further the unknowns of the finest, and whether no single solution would be finer.
    """

    modes: CaseModes
    worst: float
    added: float
    unknowns: int
    refined: bool = False

    def finer_alone(self, setup: Setup) -> bool:
        """Return whether a set-up by itself would be refined in each direction, which was not done here."""
        if self.refined:
            return False
        return all(unknowns_of(setup, one) <= MOST_APART for one in directions(levels_of(setup)).values())


@dataclass(frozen=True)
class _AtPoint:
    """What one mesh told at one point; as good as a mesh of a single set-up."""

    mesh: _Mesh
    point: Point

    @property
    def numbers(self) -> MeshNumbers:
        """Return the numbers, the kind of a mode with the symmetric part that it is of."""
        told, row = self.mesh.told, self.mesh.row(self.point)
        labels = [f"{kind} {part}" for kind, part in zip(told.kinds[row], told.part[row], strict=True)]
        return MeshNumbers(told.frequency_hz[row], labels, told.compliance[row])

    def let_go(self) -> None:
        """Let go nothing: other points still need the mesh."""


def _limit(
    limit: MeshLimit[_AtPoint] | Tended, finest: _AtPoint, used: Sequence[_AtPoint], wanted: int
) -> _Limit:
    """Return the modes at a point in the limit of the meshes used, as ordered by the finest."""
    told, row = finest.mesh.told, finest.mesh.row(finest.point)
    missed = max(float(one.mesh.told.error[one.mesh.row(one.point)].max()) for one in used)
    error = limit.error + _MAGNIFIED * missed
    added = _MAGNIFIED * max(_missed(one.mesh, one.point, wanted) for one in used)
    modes = CaseModes(
        frequency_hz=limit.frequency_hz,
        error=error,
        kinds=told.kinds[row],
        edge=told.edge[row],
        moves=told.moves[row],
        energy={name: values[row] for name, values in told.energy.items()},
        compliance=limit.compliance,
    )
    worst = worst_error(error, limit.compliance_error, wanted=wanted)
    return _Limit(modes, worst, added, finest.mesh.unknowns)


def _missed(mesh: _Mesh, point: Point, wanted: int) -> float:
    """Return the relative error that a space may have made of any wanted frequency, or of the spring."""
    told, row = mesh.told, mesh.row(point)
    return max(float(told.error[row, :wanted].max()), float(told.compliance_error[row]))


@dataclass(frozen=True)
class _Coarse:
    """Modal models of like set-ups from the coarsest mesh of a family: for ratios."""

    mesh: _Mesh
    turn: FloatArray

    def __call__(self, setup: Setup) -> ModalModel:
        """Return the modal model of a set-up of the family."""
        told, row = self.mesh.told, self.mesh.row(point_of(own_frame(setup)[0]))
        at = np.flatnonzero(told.moves[row])
        energy = {name: values[row] for name, values in told.energy.items()}
        return ModalModel(
            omega=2 * np.pi * told.frequency_hz[row][at],
            phi=told.edge[row][at] @ self.turn.T,
            eta=mode_loss(setup, energy)[at],
            static=self.turn @ told.compliance[row] @ self.turn.T,
            viscous=True,
        )
