"""The command ``modes``: what the edge does, how it sings, which mode lies along the cut."""

from __future__ import annotations

import sys
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from stickout.cli.options import Changes, JsonTarget, MoreOption, SetupFile
from stickout.cli.outputs import (
    STANDARD_OUTPUT,
    check_answer,
    check_target,
    write_json,
    writing,
)
from stickout.cli.run import load
from stickout.cli.solving import solve
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError

if TYPE_CHECKING:
    from stickout.fem.solid.modes import Modes
    from stickout.fem.study.result import Result

MeshTarget = Annotated[
    Path | None, Parameter(help="File for mesh, regions and mode shapes (.vtu, or .msh for Gmsh).")
]
EnergyTarget = Annotated[
    Path | None, Parameter(help="Picture of where the energy of the modes is (.png, .svg).")
]
MESH_SUFFIXES = (".vtu", ".msh")


@Parameter(name="*")
@dataclass(frozen=True)
class Extra:
    """What comes beside the answer."""

    energy: EnergyTarget = None
    check: Annotated[
        bool,
        Parameter(negative="", help="Solve the first mesh by scikit-fem and SciPy too; say how far apart."),
    ] = False


def modes(
    setup: SetupFile,
    /,
    *,
    changes: Changes = (),
    json: JsonTarget = None,
    mesh: MeshTarget = None,
    extra: Extra | None = None,
    more: MoreOption = False,
) -> None:
    """Show the modes of a held bar: spring, notes, directions, the one along the cut, losses.

    Parameters
    ----------
    setup
        The set-up file.
    changes
        Changes of its keys for this run.
    json
        File for the result; - for standard output, in place of the answer.
    mesh
        File for mesh and mode shapes.
    extra
        The energy picture, the second opinion.
    more
        Say everything.
    """
    read, asked = load(setup, changes), extra or Extra()
    energy = asked.energy
    check_answer(json)
    check_target(mesh, key="--mesh", suffixes=MESH_SUFFIXES)
    if energy is not None:
        from stickout.cli.show.scene.energy import check_energy_target  # imports Matplotlib

        check_energy_target(energy)
    solved = solve(read.setup)
    write_results(solved.result, json=json, mesh=mesh)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.modes_screen import modes_screen  # here, so that errors are told sooner

        sys.stdout.write(modes_screen(solved.result))
        if more:
            from stickout.cli.text.modes_answer import answer_text

            sys.stdout.write(f"\n{answer_text(solved.result, verbose=True)}\n{solved.words}\n")
    if asked.check and json != STANDARD_OUTPUT:
        from stickout.cli.text.second_opinion_words import second_opinion_words
        from stickout.fem.study.second_opinion import second_opinion

        sys.stdout.write(
            "\n".join(["", *second_opinion_words(second_opinion(read.setup), solved.result), ""])
        )
    if energy is not None:
        from stickout.cli.commands.energy_picture import write_energy_picture

        words = write_energy_picture(solved.result, energy)
        if json != STANDARD_OUTPUT:
            sys.stdout.write(f"\n{words}\n")


def write_results(result: Result, *, json: str | None, mesh: Path | None) -> None:
    """Write the files asked for: both, or neither where one of them fails."""
    with ExitStack() as files:
        if mesh is not None:
            from stickout.meshes.files import write_mesh  # imports meshio

            part = files.enter_context(writing(mesh, key="--mesh"))
            try:
                write_mesh(result.model.mesh, part, modes=_wanted(result))
            except InputError as fault:
                # The system's own error is told by ``writing``, with the name that the user gave.
                raise fault.__cause__ if isinstance(fault.__cause__, OSError) else fault from None
        if json is not None:
            from stickout.fem.records.result import result_record

            write_json(result_record(result, tool=TOOL, version=VERSION), json)


def _wanted(result: Result) -> Modes:
    """Return the modes that were asked for, with the frequencies that the answer tells."""
    found, n = result.modes, result.n_modes
    return replace(
        found,
        frequency_hz=result.frequency_hz[:n],
        drawn=found.shapes[:n],
        edge=found.edge[:n],
        energy={name: values[:n] for name, values in found.energy.items()},
        residual=found.residual[:n],
    )
