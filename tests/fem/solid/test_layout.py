"""The order of the unknowns: blocks across the bar, or along it where those are narrower."""

from __future__ import annotations

import numpy as np
import pytest
from small_bars import MODELS, SUPPORTS, model_of

from stickout.fem.solid.model import Model
from stickout.meshes.parts import Bar, Hold, Shim
from stickout.meshes.pieces import Fineness
from stickout.meshes.tool import bar_mesh


def short_bar(*steps: int) -> Model:
    """Return a short square bar pressed on a shim, its cells halved so often along, sideways and upward."""
    along, sideways, upward = steps
    mesh = bar_mesh(
        Bar(overhang_mm=16, section="square", width_mm=12, gripped_mm=12),
        hold=Hold("held"),
        shim=Shim(thickness_mm=1.0),
        fineness=Fineness(2, 1, 0.2, 1.2, 0.2, steps=(along, sideways, upward)),
    )
    return model_of(mesh, SUPPORTS["shim"])


def widest(model: Model) -> int:
    """Return the unknowns of the widest block."""
    return int(np.diff(model.layout.start).max())


def across(model: Model) -> int:
    """Return the free unknowns of the fullest plane of corners across the bar."""
    plane = np.unique(np.round(model.mesh.points[:, 0], 9), return_inverse=True)[1]
    return int(np.bincount(plane, weights=(~model.held).sum(axis=1)).max())


@pytest.mark.parametrize("steps", [(0, 0, 3), (0, 3, 0)])
def test_a_section_with_many_rows_is_eliminated_row_by_row(steps: tuple[int, int, int]) -> None:
    """Blocks half as wide as a plane across the bar; displacements that the summed stiffness confirms."""
    model = short_bar(*steps)
    assert widest(model) < 0.5 * across(model)
    loads = model.edge_loads
    moved = model.factor.solve(loads)
    # Another route: the stiffness applied cell by cell, without blocks. Rounding times a bar's condition.
    assert model.apply_stiffness(moved) == pytest.approx(loads, abs=1e-7 * np.abs(loads).max())


def test_a_bar_with_many_layers_is_eliminated_along_itself() -> None:
    """Every block is a plane of corners across the bar with the middles before it."""
    model = short_bar(3, 0, 0)
    x = model.mesh.points[:, 0]
    for block in range(int(model.layout.block.max()) + 1):
        assert len(np.unique(np.round(x[model.layout.block == block], 9))) <= 2


@pytest.mark.parametrize("name", MODELS)
def test_no_cell_reaches_past_the_next_block(name: str) -> None:
    """A chain couples neighbours alone."""
    model = MODELS[name]
    for group in (model.mesh.cells, *[tie.nodes for tie in model.ties.values()]):
        assert np.ptp(model.layout.block[group], axis=1).max() <= 1
