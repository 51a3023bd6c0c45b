"""Run a study for a command: with a progress bar, and with a word on the mesh for ``--verbose``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stickout.cli.progress import progress
from stickout.cli.time_left import TimeLeft

if TYPE_CHECKING:
    from stickout.fem.setup.parts import Setup
    from stickout.fem.study.budget import Ahead
    from stickout.fem.study.result import Result


@dataclass(frozen=True)
class Solved:
    """A result, and how many solutions it took."""

    result: Result
    meshes: int

    @property
    def words(self) -> str:
        """Return the sentence on the mesh: size, worst cell, unknowns, how often it was solved."""
        from stickout.fem.study.in_block import solved_in_block
        from stickout.fem.study.of_revolution import solved_as_revolved
        from stickout.meshes.check import mesh_quality

        quality = mesh_quality(self.result.model.mesh)
        size = f"{quality.cells} cells of second order, {quality.nodes} nodes"
        setup = self.result.setup
        if solved_as_revolved(setup) or solved_in_block(setup):
            held = " in a meshed block" if solved_in_block(setup) else ""
            how = (
                f"Solved as a body of revolution{held} {self.meshes} times, at last with "
                f"{self.result.unknowns} unknowns.\nShapes are told on a mesh of {size}"
            )
        else:
            how = f"Meshes solved: {self.meshes}. The finest: {size}, {self.result.unknowns} unknowns"
        return (
            f"{how};\nworst cell quality "
            f"{quality.worst_ratio:.2f} (least over greatest Jacobian: 1 is a brick, 0 is folded)."
        )


def solve(setup: Setup) -> Solved:
    """Return the study of a set-up; a bar shows on the screen when it takes more than two seconds.

    Raises
    ------
    InputError
        The set-up cannot be used.
    SolveError
        The computation failed.
    """
    from stickout.fem.study.study import (
        run_study,  # here, so that a faulty set-up is told before SciPy is imported
    )

    meshes, left = 0, TimeLeft()
    with progress("Meshing and solving") as bar:

        def tell(ahead: Ahead) -> None:
            nonlocal meshes
            meshes = ahead.begun
            bar.say(left.words(ahead))

        result = run_study(setup, progress=tell)
    return Solved(result, meshes)
