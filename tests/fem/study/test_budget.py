"""Work told before a solve, against the blocks that the solve is made of; how it is counted on the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stickout.fem.revolved.solve import cells_for, waves_of
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.block_cholesky import USUAL
from stickout.fem.study.budget import EACH, FACTOR, Account, Ahead, mesh_work
from stickout.fem.study.mesh_levels import first_apart
from stickout.fem.study.of_revolution import SPACES, revolved_bar, space_work
from stickout.fem.study.study import levels_of, limit_of, model_on, unknowns_of
from stickout.meshes.pieces import Fineness

SQUARE = '[bar]\nsection = "square"\nwidth = 12\noverhang = 40\ngripped = 40\nmaterial = "steel"\n'
ROUND = '[bar]\nsection = "round"\ndiameter = 16\noverhang = 64\ngripped = 48\nmaterial = "steel"\n'
SLOT = '[grip]\nstyle = "slot"\nscrews = 2\nscrew_diameter = 6\nscrew_spacing = 20\nfirst_screw = 10\n'
SHIM = '[shim]\nmaterial = "annealed copper"\nthickness = 0.5\n'
SLEEVE = '[grip]\nstyle = "sleeve"\nblock_width = 40\nblock_height = 40\nwall = 8\nblock_material = "steel"\n'
TEXTS = {
    "square": SQUARE + '[grip]\nstyle = "rigid"\n',
    "held": SQUARE + '[grip]\nstyle = "held"\n',
    "held shim": SQUARE + '[grip]\nstyle = "held"\n' + SHIM,
    "slot": SQUARE + SLOT,
    "slot shim": SQUARE + SLOT + SHIM,
    "sleeve": ROUND + SLEEVE,
    "split sleeve": ROUND + SLEEVE + "split = true\n",
}


def setup_of(text: str) -> Setup:
    """Return a set-up in millimetres."""
    return parse_setup(f'units = "mm"\n{text}').setup


def first_meshes(setup: Setup) -> list[Fineness]:
    """Return the coarse mesh and those of one step."""
    first = first_apart(levels_of(setup), lambda fineness: unknowns_of(setup, fineness))
    return [first, *(replace(first, steps=steps) for steps in ((1, 0, 0), (0, 1, 0), (0, 0, 1)))]


@pytest.mark.parametrize("name", TEXTS)
def test_the_work_told_is_that_of_the_blocks_within_a_factor_of_three(name: str) -> None:
    """Meshes and their layouts made for it, nothing solved: cubes of blocks, and what every unknown costs."""
    setup = setup_of(TEXTS[name])
    told = counted = 0.0
    for fineness in first_meshes(setup):
        told += mesh_work(setup, fineness)
        for part in model_on(setup, fineness).parts:
            blocks = np.diff(part.model.layout.start).astype(float)
            direct = float((blocks**3).sum())
            most = USUAL.width**2 * blocks.sum()
            counted += FACTOR * min(direct, most) + EACH * blocks.sum()
    assert counted / 3 < told < 3 * counted


def test_the_work_of_a_body_of_revolution_is_that_of_its_chains() -> None:
    """The blocks of the chains themselves, within a factor of three."""
    setup = setup_of(ROUND + '[grip]\nstyle = "bed"\n')
    bar = revolved_bar(setup)
    for fine in SPACES[:2]:
        waves = waves_of(bar, cells_for(bar, fine, wanted=8), wanted=8)
        # Every cell's factor is over its own unknowns.
        blocks = [len(upper) for wave in set(waves.values()) for upper, _ in wave.chain.factor]
        counted = sum(FACTOR * float(n) ** 3 + EACH * n for n in blocks)
        assert counted / 3 < space_work(setup, fine) < 3 * counted


def test_work_is_told_before_each_solution_and_counted_after_it() -> None:
    """Two planned, one begun, one more found to be needed."""
    told: list[Ahead] = []
    account = Account(told.append)
    account.plan([1.0, 4.0])
    with account.solving(1.0):
        pass
    with account.solving(4.0):
        pass
    account.plan([8.0])
    with account.solving(8.0):
        pass
    assert told == [Ahead(1, 0.0, 5.0), Ahead(2, 1.0, 5.0), Ahead(3, 5.0, 13.0)]


def test_what_is_planned_is_what_is_solved() -> None:
    """A square bar at an accuracy that four meshes give: the plan holds from the first to the last."""
    setup = setup_of(TEXTS["square"] + "[solve]\naccuracy = 0.005\nmodes = 2\n")
    told: list[Ahead] = []
    limit_of(setup, progress=told.append)
    assert [one.begun for one in told] == [1, 2, 3, 4]
    assert all(one.planned == pytest.approx(told[0].planned) for one in told)
    assert [one.done for one in told] == sorted(one.done for one in told)
