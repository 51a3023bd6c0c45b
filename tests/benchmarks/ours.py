"""Our side of the benchmark: the calls a user's program would make, and nothing else."""

from __future__ import annotations

import numpy as np
from round_bar import DENSITY, DIAMETER_MM, LENGTH_MM, POISSON_RATIO, WANTED, YOUNGS_MODULUS, Answer

from stickout.fem.revolved.bar import Length, RevolvedBar, Ring
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.bands import exactly
from stickout.fem.setup.grips import RigidGrip
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.modes import solve_modes
from stickout.fem.study.of_revolution import SPACES
from stickout.fem.study.study import limit_of
from stickout.meshes.parts import Bar
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

STEEL = Elastic(youngs_modulus=YOUNGS_MODULUS, poisson_ratio=POISSON_RATIO, density=DENSITY)
MODES = 6
TUNED = SPACES[0]
"""Coarsest space with all six inside 0.1 %, as the peers' meshes are; it is the first that users get."""


def prepared(mesh: TaggedMesh) -> Model:
    """Return the model of a mesh whose root is held still."""
    return held_model(mesh, {"bar": STEEL}, support=Support(held=("root",)))


def solved(mesh: TaggedMesh) -> Answer:
    """Return six modes of a mesh whose root is held still."""
    model = prepared(mesh)
    modes = solve_modes(model, MODES)
    return Answer(modes.frequency_hz[:MODES], model.layout.n_unknowns, len(mesh.cells))


def on_mesh(points: FloatArray, cells: IntArray) -> Answer:
    """Return six modes of a bar held at x = 0 on a given mesh, whose cells run along y, z, x.

    Cells that differ only by a shift and by their length are found here, inside the time that is taken.
    """
    place = points[cells]
    place = place - place[:, :1]
    place[:, :, 0] /= place[:, 4:5, 0]
    same = np.unique(np.round(place.reshape(len(cells), -1), 12), axis=0, return_inverse=True)[1]
    x = points[cells[:, 0], 0], points[cells[:, 4], 0]
    low, high = np.isclose(x[0], points[:, 0].min()), np.isclose(x[1], points[:, 0].max())
    patches = {
        "root": cells[low][:, [0, 3, 2, 1, 11, 10, 9, 8]],
        "end": cells[high][:, [4, 5, 6, 7, 12, 13, 14, 15]],
    }
    edge = np.array([points[:, 0].max(), 0.0, 0.0])
    return solved(TaggedMesh(points, cells, {"bar": np.arange(len(cells))}, patches, edge, same.ravel()))


def run_square() -> Answer:
    """Return six modes of the stock peer's square bar, mesh making included."""
    from peer_stock import square_mesh

    return on_mesh(*square_mesh())


def run_told() -> Answer:
    """Return six modes as a user gets them: nested solutions until the error told is inside 0.1 %.

    Compliance and the kinds of the modes are made as well; shapes are, when a picture is asked for.
    """
    limit = limit_of(_setup())
    return Answer(limit.frequency_hz[:MODES], limit.finest.unknowns)


def _setup() -> Setup:
    """Return the benchmark's bar as a set-up."""
    numbers = (YOUNGS_MODULUS, POISSON_RATIO, DENSITY, 1e-3)
    material = Material("steel", *(exactly(one) for one in numbers))
    return Setup(
        bar=Bar(overhang_mm=LENGTH_MM, diameter_mm=DIAMETER_MM),
        grip=RigidGrip(),
        materials={"bar": material},
        solve=Solve(modes=MODES, accuracy=WANTED),
    )


def run() -> Answer:
    """Return six modes of the benchmark's round bar, from sizes to answer, in the first space alone."""
    long = LENGTH_MM * 1e-3
    ring = Ring(0.0, DIAMETER_MM * 0.5e-3, STEEL, "bar")
    bar = RevolvedBar([Length(0.0, long, [ring])], held=True, edge=np.array([long, 0.0, 0.0]))
    found = solve(bar, TUNED, wanted=MODES)
    return Answer(found.frequency_hz, found.unknowns)


if __name__ == "__main__":
    answer = run()
    print(f"worst {answer.worst:.2e}, {answer.unknowns} unknowns")
