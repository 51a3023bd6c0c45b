"""Like set-ups answered together: few solves, many answers, each with its error told.

On every mesh one small space serves all of them; the limit of the meshes is taken for each set-up by
itself, as for a single one. What a space cannot tell to the wanted accuracy, or the meshes of one by itself
could tell better, is left to be solved alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.spread import grip_band, with_grip
from stickout.fem.force.case import described_case
from stickout.fem.setup.parts import Setup
from stickout.fem.study.accuracy import MOST_APART, Levels, directions
from stickout.fem.study.band_ends import SOFT, STIFF, at_end
from stickout.fem.study.clamped_loss import mode_loss
from stickout.fem.study.frames import own_frame, turn_about_bar
from stickout.fem.study.meshes_limit import MeshNumbers, split, tended
from stickout.fem.study.study import levels_of, unknowns_of
from stickout.fem.sweep.bases import Spaces
from stickout.fem.sweep.case_answer import REDUCED, CaseAnswer, Solved, case_answer
from stickout.fem.sweep.case_modes import CaseModes
from stickout.fem.sweep.points import Point, Points, point_of
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
    levels = levels_of(longest)
    accuracy = longest.solve.accuracy
    rough = [point_of(end) for one in straight for end in _ends(one)]
    meshes = [
        _mesh(longest, levels.fineness[0], points=points, rough=rough),
        _mesh(longest, levels.fineness[1], points=points),
    ]
    found = [_limit(meshes, point, longest) for point in points]
    hard = [point for point, one in zip(points, found, strict=True) if one.worst > accuracy]
    apart = _apart(longest, levels, points=hard)
    if apart:
        # What two meshes leave open, refining each direction by itself may tell: as for a single set-up.
        found = [
            _limit(meshes, point, longest, apart=apart) if point in hard else one
            for point, one in zip(points, found, strict=True)
        ]
    answers: list[CaseAnswer | None] = []
    for setup, (frame, angle), one in zip(setups, frames, found, strict=True):
        if one.added > accuracy / 2 or (one.worst > accuracy and not apart and _can_be_finer(frame)):
            answers.append(None)
            continue
        how = Solved(meshes[-1].unknowns, REDUCED, one.added, accurate=one.worst <= accuracy)
        turn = turn_about_bar(angle)
        answers.append(case_answer(setup, one.modes.turned(turn), how=how, solve=_Coarse(meshes[0], turn)))
    return answers


def _mesh(setup: Setup, fineness: Fineness, *, points: Sequence[Point], rough: Sequence[Point] = ()) -> _Mesh:
    """Return what a mesh tells at points that count, and at others that are only needed roughly."""
    exact, each = len(_unlike(points)), _unlike([*points, *rough])
    every = Points.of(each)
    spaces = Spaces(setup, fineness, points=every)
    counted = every.pick(slice(exact)) if exact < len(every) else every
    spaces.grow(counted, _SHARE * setup.solve.accuracy)
    if exact < len(every):
        spaces.grow(every, _ROUGH)
    place = {repr(point): row for row, point in enumerate(each)}
    return _Mesh(spaces.told(every), place, spaces.unknowns, spaces.n_parts)


def _unlike(points: Sequence[Point]) -> list[Point]:
    """Return points, none of them twice."""
    return list({repr(point): point for point in points}.values())


def _ends(setup: Setup) -> list[Setup]:
    """Return the set-up at the ends of the bands of its assumed numbers, and of its grip for a cut."""
    ends = [at_end(setup, SOFT), at_end(setup, STIFF)]
    if described_case(setup) is not None:
        band = grip_band(setup)
        ends += [with_grip(setup, band.low), with_grip(setup, band.high)]
    return ends


@dataclass(frozen=True)
class _Limit:
    """Modes in the limit of the meshes, the greatest error of what was asked for, the spaces' part of it."""

    modes: CaseModes
    worst: float
    added: float


def _can_be_finer(setup: Setup) -> bool:
    """Return whether a set-up by itself is small enough to be refined in each direction."""
    return all(unknowns_of(setup, one) <= MOST_APART for one in directions(levels_of(setup)).values())


def _apart(setup: Setup, levels: Levels, *, points: Sequence[Point]) -> dict[str, _Mesh]:
    """Return what the second mesh tells, refined in one direction each; nothing where one is too large."""
    finer = directions(levels) if points else {}
    if any(unknowns_of(setup, one) > MOST_APART for one in finer.values()):
        return {}
    return {name: _mesh(setup, one, points=points) for name, one in finer.items()}


def _limit(
    meshes: Sequence[_Mesh],
    point: Point,
    setup: Setup,
    *,
    apart: Mapping[str, _Mesh] = MappingProxyType({}),
) -> _Limit:
    """Return the modes at a point in the limit of the meshes; ``setup`` says how many count."""
    pair = [_numbers(one, point) for one in meshes]
    more = {name: _numbers(mesh, point) for name, mesh in apart.items()}
    limit = split(pair, more) if more else tended(pair)
    told, row = meshes[-1].told, meshes[-1].row(point)
    used, wanted = [*meshes, *apart.values()], setup.solve.modes
    error = limit.error + _MAGNIFIED * max(float(one.told.error[one.row(point)].max()) for one in used)
    added = _MAGNIFIED * max(_missed(one, point, wanted) for one in used)
    modes = CaseModes(
        frequency_hz=limit.frequency_hz,
        error=error,
        kinds=told.kinds[row],
        edge=told.edge[row],
        moves=told.moves[row],
        energy={name: values[row] for name, values in told.energy.items()},
        compliance=limit.compliance,
    )
    worst = max(float(error[:wanted].max()), float(np.diag(limit.compliance_error).max()))
    return _Limit(modes, worst, added)


def _numbers(mesh: _Mesh, point: Point) -> MeshNumbers:
    """Return what a mesh told at a point."""
    told, row = mesh.told, mesh.row(point)
    return MeshNumbers(told.frequency_hz[row], told.kinds[row], told.compliance[row])


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
