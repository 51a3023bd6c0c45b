"""Invariance and scaling, on coarse meshes: what must not change, and what must, exactly."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from small_bars import COARSE, FLATTED, ITERATED, MODELS, ROUND, SUPPORTS, model_of
from solids import STEEL

from stickout.fem.setup.file import parse_setup
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.modes import solve_modes, static_compliance
from stickout.fem.study.study import solve_level
from stickout.meshes.parts import Bar, Edge, Step
from stickout.meshes.tagged import FloatArray
from stickout.meshes.tool import bar_mesh


def frequencies(bar: Bar, *, material: Elastic = STEEL, n: int = 6, **more: Any) -> FloatArray:
    """Return the first frequencies of a rigidly held bar [Hz]."""
    mesh = bar_mesh(bar, fineness=COARSE, **more)
    return solve_modes(model_of(mesh, material=material), n).frequency_hz[:n]


@pytest.mark.parametrize("angle", [17.0, 90.0, -45.0])
def test_turning_a_round_bar_changes_nothing(angle: float) -> None:
    """Invariance: the same frequencies, and the same spring in every direction across."""
    turned = replace(ROUND, rotation_deg=angle)
    assert frequencies(turned) == pytest.approx(frequencies(ROUND), rel=ITERATED)
    tube = Bar(64, section="tube", diameter_mm=16, bore_mm=8)
    assert frequencies(replace(tube, rotation_deg=angle)) == pytest.approx(frequencies(tube), rel=ITERATED)


def test_turning_the_mesh_itself_changes_nothing() -> None:
    """Invariance of the whole method: a mesh turned about x, and the compliance turned with it."""
    mesh = bar_mesh(FLATTED, edge=Edge(offset_y_mm=3, offset_z_mm=2), fineness=COARSE)
    c, s = np.cos(0.5), np.sin(0.5)
    turn = np.array([[1.0, 0, 0], [0, c, -s], [0, s, c]])
    other = replace(mesh, points=mesh.points @ turn.T, edge=turn @ mesh.edge)
    one, two = model_of(mesh), model_of(other)
    assert solve_modes(two, 6).frequency_hz == pytest.approx(solve_modes(one, 6).frequency_hz, rel=ITERATED)
    # Direct solves: rounding times the condition of a slender bar, 1e7.
    expected = turn @ static_compliance(one) @ turn.T
    assert static_compliance(two) == pytest.approx(expected, rel=1e-8, abs=1e-8 * np.abs(expected).max())


def test_turning_a_flatted_bar_by_ninety_degrees_swaps_its_pair() -> None:
    """Invariance: same frequencies; what bent along z bends along y, and the compliance trades places."""
    models = [model_of(bar_mesh(replace(FLATTED, rotation_deg=a), fineness=COARSE)) for a in (0, 90)]
    modes = [solve_modes(m, 2) for m in models]
    assert modes[1].frequency_hz[:2] == pytest.approx(modes[0].frequency_hz[:2], rel=ITERATED)
    # Weak across the flats: along z at 0 degrees, along y at 90.
    assert np.argmax(np.abs(modes[0].edge[:2]), axis=1).tolist() == [2, 1]
    assert np.argmax(np.abs(modes[1].edge[:2]), axis=1).tolist() == [1, 2]
    spring = [np.diag(static_compliance(m)) for m in models]
    assert spring[1][[0, 2, 1]] == pytest.approx(spring[0], rel=1e-8)


def test_doubling_young_doubles_the_square() -> None:
    """Scaling: frequencies go with the root of E over density, so twice E gives root two."""
    double = replace(STEEL, youngs_modulus=2 * STEEL.youngs_modulus)
    assert frequencies(ROUND, material=double) == pytest.approx(np.sqrt(2) * frequencies(ROUND), rel=ITERATED)
    heavy = replace(STEEL, density=4 * STEEL.density)
    assert frequencies(ROUND, material=heavy) == pytest.approx(frequencies(ROUND) / 2, rel=ITERATED)


def test_scaling_every_length() -> None:
    """Scaling: a bar s times as large sings s times lower and springs s times less per force."""
    s = 2.5
    large = Bar(64 * s, diameter_mm=16 * s)
    assert frequencies(large) == pytest.approx(frequencies(ROUND) / s, rel=ITERATED)
    spring = [static_compliance(model_of(bar_mesh(b, fineness=COARSE))) for b in (ROUND, large)]
    assert spring[1] == pytest.approx(spring[0] / s, rel=1e-8, abs=1e-8 * spring[0].max())


def test_a_step_of_equal_size_changes_nothing() -> None:
    """Invariance, to the last bit: the mesh is the same, and so is all that follows."""
    stepped = replace(ROUND, steps=[Step(30, diameter_mm=16)])
    assert np.array_equal(frequencies(stepped), frequencies(ROUND))


def test_millimetres_and_inches() -> None:
    """Invariance: one set-up told in both units; 16 mm and 80 mm in inches to 17 digits."""
    text = """
units = "{unit}"
[bar]
section = "round"
diameter = {d!r}
overhang = {length!r}
material = "steel"
[grip]
style = "rigid"
"""
    levels = [
        solve_level(parse_setup(text.format(unit=unit, d=16 / u, length=80 / u)).setup, COARSE)
        for unit, u in (("mm", 1.0), ("inch", 25.4))
    ]
    one, two = (level.modes.frequency_hz for level in levels)
    assert one == pytest.approx(two, rel=ITERATED)


def test_same_input_same_output() -> None:
    """Bit for bit: two runs from the start, on a bar with an equal pair."""
    runs = [solve_modes(model_of(bar_mesh(ROUND, fineness=COARSE)), 4) for _ in range(2)]
    for key in ("frequency_hz", "shapes", "edge", "residual"):
        assert np.array_equal(getattr(runs[0], key), getattr(runs[1], key)), key


@pytest.mark.parametrize("name", MODELS)
def test_general_ordering_gives_the_same(name: str) -> None:
    """Invariance: families forgotten, every cell has its own matrix and the unknowns another order."""
    model = MODELS[name]
    mesh = replace(model.mesh, family=np.full(len(model.mesh.cells), -1))
    other = model_of(mesh, SUPPORTS[name], mass=0.02)
    assert not np.array_equal(other.layout.place, model.layout.place)
    assert solve_modes(other, 5).frequency_hz[:5] == pytest.approx(
        solve_modes(model, 5).frequency_hz[:5], rel=ITERATED
    )
    expected = static_compliance(model)
    assert static_compliance(other) == pytest.approx(expected, rel=1e-8, abs=1e-8 * expected.max())
