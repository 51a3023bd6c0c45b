"""What a solved bar of revolution tells, as one mesh would: its modes, and how a section of it moves."""

from __future__ import annotations

from functools import partial

import numpy as np

from stickout.fem.later import Later
from stickout.fem.revolved.place import section_at_rest, section_motion
from stickout.fem.revolved.solve import Solution
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.study.accuracy import Level
from stickout.meshes.tagged import FloatArray


def level_of(solution: Solution, model: Later[Model]) -> Level:
    """Return a solution, which is drawn on a mesh when that is asked for.

    Parameters
    ----------
    solution
        The solved bar.
    model
        Gives the mesh with its matrices.
    """
    modes = modes_of(solution, Later(partial(_shapes, solution, model)))
    return Level(
        model,
        modes,
        solution.kinds(),
        compliance=solution.compliance,
        unknowns=solution.unknowns,
        at_rest=partial(section_at_rest, solution),
    )


def _shapes(solution: Solution, model: Later[Model]) -> FloatArray:
    return solution.motion(model.value.mesh.points)


def modes_of(solution: Solution, drawn: Later[FloatArray]) -> Modes:
    """Return the modes of a solution.

    Parameters
    ----------
    solution
        The solved bar.
    drawn
        Gives their shapes at the nodes of a mesh.
    """
    kind = {label: number for number, label in enumerate(sorted(set(solution.labels)))}
    return Modes(
        frequency_hz=solution.frequency_hz,
        drawn=drawn,
        edge=solution.edge,
        energy=solution.energy,
        residual=solution.residual,
        part=np.array([kind[label] for label in solution.labels]),
        known_most=solution.most(),
        section=partial(section_motion, solution),
    )
