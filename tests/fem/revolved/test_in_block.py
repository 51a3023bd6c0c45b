"""A bar of revolution joined to a meshed block by springs over its bore.

Checked: what moves the block alone moves the bar alike; a block as stiff as the ground gives a bar on a bed;
bar and block on one mesh of 20-node cells, which this way does without.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from setups import SLEEVE

from stickout.fem.revolved.bar import Fine
from stickout.fem.revolved.in_block import BarInBore
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.bands import Band
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study.budget import Account
from stickout.fem.study.in_block import COARSE, BlockSolver, block_level
from stickout.fem.study.of_revolution import revolved_bar
from stickout.fem.study.study import mesh_of, model_on, solve_level

FINE = Fine(4, 3, 1)


@pytest.fixture(scope="module")
def split() -> Setup:
    """Return a stepped bar with a mass beside the axis in a split block."""
    steps = "[[bar.steps]]\nstart = 50\ndiameter = 12\n[grip]"
    text = SLEEVE.replace("[grip]", steps).replace("wall = 8", "wall = 8\nsplit = true")
    return parse_setup(text + "[edge]\nmass_g = 20\noffset_y = 3\n").setup


def test_a_block_that_moves_takes_the_bar_with_it(split: Setup) -> None:
    """Springs that are pulled by a shift or a turn of the whole bore shift or turn the whole bar so.

    A turn is out by how far the middles of the bore's edges lie off the circle.
    """
    solver = BlockSolver(
        split, partial(mesh_of, split), model_of=partial(model_on, split), account=Account(None)
    )
    block = solver.block(COARSE)
    bar = BarInBore(revolved_bar(split), FINE, orders=3, wanted=4)
    at = block.mesh.points[block.bore.nodes]
    tip = np.array([split.bar.overhang_mm, 3.0, 0.0]) * 1e-3
    for axis in range(3):
        turn = np.eye(3)[axis]
        for moved, expected in (
            (np.broadcast_to(turn, at.shape), turn),
            (np.cross(turn, at), np.cross(turn, tip)),
        ):
            load = bar.pull(block.bore) @ moved.reshape(-1, 1)
            edge = bar.motions.edge_of_all @ bar.motions.solve(bar.on_skin(load))
            size = max(np.linalg.norm(expected), 1e-3)
            assert np.abs(edge[:, 0] - expected).max() < 2e-3 * size


def test_a_block_as_stiff_as_the_ground_is_a_bed(split: Setup) -> None:
    """A million times as stiff as steel; the bar on its bed is checked against others elsewhere."""
    holder = split.materials["holder"]
    young = holder.youngs_modulus
    stiff = Band(1e6 * young.low, 1e6 * young.likely, 1e6 * young.high, "test")
    hard = replace(split, materials={**split.materials, "holder": replace(holder, youngs_modulus=stiff)})
    level = block_level(hard, partial(mesh_of, hard), fine=FINE, model_of=partial(model_on, hard))
    alone = solve(revolved_bar(split), FINE, wanted=split.solve.modes)
    n = split.solve.modes
    np.testing.assert_allclose(level.modes.frequency_hz[:n], alone.frequency_hz, rtol=2e-5)
    size = np.sqrt(np.diag(alone.compliance))
    assert np.abs((level.compliance - alone.compliance) / np.outer(size, size)).max() < 4e-5


def test_bar_and_block_on_one_mesh(split: Setup) -> None:
    """The same block of 20-node cells with a bar of such cells: a coarse bar is stiffer, by parts of 1 %."""
    level = block_level(split, partial(mesh_of, split), fine=FINE, model_of=partial(model_on, split))
    meshed = solve_level(split, COARSE)
    n = split.solve.modes
    higher = meshed.modes.frequency_hz[:n] / level.modes.frequency_hz[:n] - 1
    assert np.all(higher < 8e-3)
    assert np.all(higher > -1e-3)
    # The sixth lies on the border of two kinds.
    assert level.kinds[: n - 1] == meshed.kinds[: n - 1]
    for name in meshed.modes.energy:
        ours, theirs = (m.energy[name][:n] * 2 / m.omega[:n] ** 2 for m in (level.modes, meshed.modes))
        # The third and the fifth share torsion and the block's own swing, as the mesh of the bar has it.
        assert np.abs(ours - theirs).max() < 0.06
    shapes = level.modes.shapes[:n]
    alike = np.einsum("nij,nij->n", shapes, meshed.modes.shapes[:n])
    sizes = np.linalg.norm(shapes, axis=(1, 2)) * np.linalg.norm(meshed.modes.shapes[:n], axis=(1, 2))
    assert np.all(np.abs(alike) > 0.98 * sizes)
