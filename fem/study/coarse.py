"""A set-up solved once and coarsely: good for ratios of like set-ups, and quick."""

from __future__ import annotations

from functools import partial
from typing import Final

from stickout.fem.setup.parts import Setup
from stickout.fem.study.accuracy import Level
from stickout.fem.study.frames import own_frame
from stickout.fem.study.in_block import block_level, solved_in_block
from stickout.fem.study.of_revolution import SPACES, is_of_revolution, revolved_level
from stickout.fem.study.study import drawn_on, mesh_of, model_on, solve_level
from stickout.meshes.pieces import Fineness

# Ratios of margins on this mesh are within 0.3 % of those on meshes twice as fine (tests/fem/cut).
COARSE: Final = Fineness(2, 1, 0.3, 1.0, 0.15)


def coarse_level(setup: Setup, *, on_mesh: bool = False) -> Level:
    """Return a set-up solved in the first space of polynomials, or on one coarse mesh where it is not round.

    Parameters
    ----------
    setup
        The set-up; it is taken as checked.
    on_mesh
        Whether on a mesh even if round: to compare with one that has a post, which a mesh alone knows.

    Raises
    ------
    SolveError
        The computation failed.
    """
    if not on_mesh and is_of_revolution(setup):
        own, _ = own_frame(setup)
        return revolved_level(own, SPACES[0], model_of=partial(drawn_on, own))
    if setup.absorber is None and not on_mesh and solved_in_block(setup):
        return block_level(setup, partial(mesh_of, setup), fine=SPACES[0], model_of=partial(model_on, setup))
    return solve_level(setup, COARSE)
