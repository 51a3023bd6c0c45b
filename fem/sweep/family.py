"""Like set-ups answered together: few solves, many answers, each with its error told.

On every mesh one small space serves all of them; the limit of the meshes is taken for each set-up by
itself, as for a single one. What a space or the meshes cannot tell to the wanted accuracy is left to be
solved alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.spread import grip_band, with_grip
from stickout.fem.setup.parts import Setup
from stickout.fem.study.accuracy import Levels
from stickout.fem.study.band_ends import SOFT, STIFF, at_end
from stickout.fem.study.clamped_loss import mode_loss
from stickout.fem.study.frames import own_frame, turn_about_bar
from stickout.fem.study.meshes_limit import MeshNumbers, tended
from stickout.fem.study.study import levels_of
from stickout.fem.sweep.bases import Spaces
from stickout.fem.sweep.case_answer import REDUCED, CaseAnswer, Solved, case_answer
from stickout.fem.sweep.case_cut import described_case
from stickout.fem.sweep.case_modes import CaseModes
from stickout.fem.sweep.points import Point, Points, point_of
from stickout.fem.sweep.told import Told
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
    wanted, accuracy = longest.solve.modes, longest.solve.accuracy
    rough = [point_of(end) for one in straight for end in _ends(one)]
    meshes = [
        _solved(longest, levels, 0, points=points, rough=rough),
        _solved(longest, levels, 1, points=points),
    ]
    found = [_modes(meshes, point) for point in points]
    answers: list[CaseAnswer | None] = []
    for setup, (_, angle), point, modes in zip(setups, frames, points, found, strict=True):
        added = _MAGNIFIED * max(_missed(mesh, point, wanted) for mesh in meshes)
        if np.any(modes.error[:wanted] > accuracy) or added > accuracy / 2:
            answers.append(None)
            continue
        how = Solved(meshes[-1].unknowns, REDUCED, added, accurate=True)
        turn = turn_about_bar(angle)
        answers.append(case_answer(setup, modes.turned(turn), how=how, solve=_Coarse(meshes[0], turn)))
    return answers


def _solved(
    setup: Setup, levels: Levels, number: int, *, points: Sequence[Point], rough: Sequence[Point] = ()
) -> _Mesh:
    """Return what a mesh tells at points that count, and at others that are only needed roughly."""
    exact, each = len(_unlike(points)), _unlike([*points, *rough])
    every = Points.of(each)
    spaces = Spaces(setup, levels.fineness[number], points=every)
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


def _modes(meshes: Sequence[_Mesh], point: Point) -> CaseModes:
    """Return the modes at a point in the limit of the meshes."""
    used = [(mesh.told, mesh.row(point)) for mesh in meshes]
    numbers = [MeshNumbers(t.frequency_hz[r], t.kinds[r], t.compliance[r]) for t, r in used]
    limit = tended(numbers)
    told, row = used[-1]
    added = _MAGNIFIED * max(float(t.error[r].max()) for t, r in used)
    return CaseModes(
        frequency_hz=limit.frequency_hz,
        error=limit.error + added,
        kinds=told.kinds[row],
        edge=told.edge[row],
        moves=told.moves[row],
        energy={name: values[row] for name, values in told.energy.items()},
        compliance=limit.compliance,
    )


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
        )
