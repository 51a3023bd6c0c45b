"""Solving without a factor, and with no more factors at once than allowed: the answers of the direct way.

The direct way is itself held against dense eigenvalues in test_principles.py.
"""

from __future__ import annotations

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
import scipy.linalg
from small_bars import COARSE, FLATTED, MODELS, ROOT, ROUND, model_of

import stickout.fem.solid.solvable
from stickout.fem.errors import SolveError
from stickout.fem.solid import block_cholesky as chain
from stickout.fem.solid.block_cholesky import (
    BY_ITERATION,
    DIRECTLY,
    USUAL,
    BlockCholesky,
    Limits,
    direct_bytes,
)
from stickout.fem.solid.davidson import GrowingSpace, Operators
from stickout.fem.solid.model import Model, Support
from stickout.fem.solid.modes import Modes, solve_modes, static_compliance
from stickout.fem.solid.slab import Assembly
from stickout.fem.solid.two_level import TwoLevel
from stickout.fem.study.complex_modes import complex_modes
from stickout.fem.study.frames import turn_about_bar, turned_model
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray
from stickout.meshes.tool import bar_mesh

# One part, two, and four of which two are alike; a bed, joints, bonded layers; a model turned as a whole.
SKEW = model_of(bar_mesh(replace(FLATTED, rotation_deg=20), fineness=COARSE))
TURNED = turned_model(MODELS["rigid"], turn_about_bar(0.4))
HELD = MODELS | {"skew": SKEW, "turned": TURNED}
FREE = {
    name: model_of(bar_mesh(bar, fineness=COARSE), Support())
    for name, bar in {"free round": ROUND, "free flats": FLATTED}.items()
}
EVERY = HELD | FREE


def columns_of(model: Model, modes: Modes) -> FloatArray:
    """Return shapes as columns of the whole."""
    return model.layout.gather(modes.shapes.transpose(1, 2, 0))


@pytest.mark.parametrize("name", EVERY)
def test_iteration_gives_the_modes_of_the_direct_way(name: str) -> None:
    """Another route: frequencies, and the spaces that the shapes span, since equal pairs come turned."""
    model = EVERY[name]
    one = solve_modes(model, 6, limits=DIRECTLY, tolerance=1e-11)
    two = solve_modes(model, 6, limits=BY_ITERATION, tolerance=1e-11)
    # Both are iterated until the square of the frequency is known to 1e-11; a free body's zero is exact.
    assert two.frequency_hz == pytest.approx(one.frequency_hz, rel=1e-8)
    assert np.all(two.residual**2 < 1e-11)
    inside = columns_of(model, one).T @ model.apply_mass(columns_of(model, two))
    # Six of eight, so that a pair is not cut; the angle between spaces is about the root of 1e-11.
    assert np.linalg.norm(inside[:, :6], axis=0) == pytest.approx(np.ones(6), abs=1e-8)


@pytest.mark.parametrize("name", ["rigid", "sleeve", "skew"])
def test_iteration_as_it_is_used_is_as_exact_as_told(name: str) -> None:
    """The usual tolerance: every frequency's square within 1e-7, by dense eigenvalues from SciPy."""
    model = HELD[name]
    every = np.eye(model.layout.n_unknowns)
    exact = scipy.linalg.eigh(
        model.apply_stiffness(every), model.apply_mass(every), eigvals_only=True, subset_by_index=[0, 7]
    )
    modes = solve_modes(model, 6, limits=BY_ITERATION)
    assert modes.omega**2 == pytest.approx(exact, rel=1e-7)


@pytest.mark.parametrize("name", HELD)
def test_iteration_gives_the_compliance_of_the_direct_way(name: str) -> None:
    """Another route: conjugate gradients against the factor."""
    expected = static_compliance(HELD[name], limits=DIRECTLY)
    found = static_compliance(HELD[name], limits=BY_ITERATION)
    # The solve leaves 3e-5 to 1e-4 of the energy norm, and that squared of the compliance.
    assert found == pytest.approx(expected, rel=1e-8, abs=1e-9 * expected.max())


def test_energies_and_complex_losses_do_not_mind_the_way() -> None:
    """Another route: strain energy by region, and the damped problem that solves for many columns."""
    model = MODELS["sleeve"]
    eta = {"bar": 0.002, "grip": 0.002, "holder": 0.01, "bar in sleeve": 0.4}
    told = []
    for limits in (DIRECTLY, BY_ITERATION):
        limited = replace(model, limits=limits)
        modes = solve_modes(limited, 4, tolerance=1e-11)
        told.append((modes.energy, complex_modes(limited, modes, eta=eta).loss_factor))
    for name, energy in told[0][0].items():
        # Energies follow the shapes, which are known to the root of 1e-11.
        assert told[1][0][name] == pytest.approx(energy, rel=1e-4, abs=1e-5 * energy.max()), name
    # The damped problem is iterated until a round moves it by 1e-5.
    assert told[1][1] == pytest.approx(told[0][1], rel=3e-5)


@pytest.mark.parametrize("name", EVERY)
def test_stiffness_cell_by_cell_is_the_summed_one(name: str) -> None:
    """Another route: the product that damping uses, plus the shifted mass of a free body."""
    for part in EVERY[name].parts:
        model = part.model
        moved = np.random.default_rng(3).standard_normal((model.layout.n_unknowns, 2))
        expected = model.apply_stiffness(moved) + model.shift * model.apply_mass(moved)
        # Rounding of sums in another order.
        assert TwoLevel(model).apply(moved) == pytest.approx(expected, rel=1e-9, abs=1e-9 * expected.max())


@pytest.mark.parametrize("name", EVERY)
def test_the_corner_bar_is_the_bar_in_a_smaller_space(name: str) -> None:
    """Galerkin's condition: a load that a coarse motion meets is answered by that motion."""
    model = EVERY[name].parts[-1].model
    levels = TwoLevel(model)
    corners = levels.corners
    motion = np.random.default_rng(4).standard_normal((corners.layout.n_unknowns, 2))
    met = levels.apply(model.layout.gather(corners.prolong(motion)))
    # Rounding times the condition of a bar.
    assert levels.coarse.solve(corners.restrict(model.layout.spread(met))) == pytest.approx(motion, abs=1e-7)


def test_the_two_levels_are_symmetric_positive_and_never_too_large() -> None:
    """Principle of multiplicative cycles: the eigenvalues of the near inverse times K lie in (0, 1]."""
    # A stub, since every column is solved.
    mesh = bar_mesh(replace(FLATTED, overhang_mm=16, rotation_deg=20), fineness=COARSE)
    model = model_of(mesh)
    levels = TwoLevel(model)
    inverse = levels.nearly(np.eye(model.layout.n_unknowns))
    # Smoothed in single precision.
    assert inverse == pytest.approx(inverse.T, abs=1e-5 * np.abs(inverse).max())
    stiffness = levels.apply(np.eye(model.layout.n_unknowns))
    values = scipy.linalg.eigh((inverse + inverse.T) / 2, scipy.linalg.inv(stiffness), eigvals_only=True)
    assert values[-1] < 1 + 1e-3
    # A tenth at the least, so a residual's energy is told at most ten times too small: fem/solid/searches.py.
    assert values[0] > 0.1


@pytest.mark.parametrize("name", ["skew", "sleeve"])
def test_no_energy_is_counted_more_than_eight_times_by_the_stars(name: str) -> None:
    """Bound of fem/solid/vertex_patches.py: eight meet in a cell, so eigenvalues of patches times K <= 8."""
    model = HELD[name].parts[0].model
    levels = TwoLevel(model)
    every = np.eye(model.layout.n_unknowns)
    stars = model.layout.gather(levels._stars.apply(model.layout.spread(every).astype(np.float32)))
    values = scipy.linalg.eigh(stars, scipy.linalg.inv(levels.apply(every)), eigvals_only=True)
    # Single precision.
    assert values[0] > 0
    assert 4 < values[-1] < 8 * (1 + 1e-5)


@pytest.mark.parametrize("name", HELD)
def test_the_memory_told_beforehand_is_that_of_the_factors(name: str) -> None:
    """Against the factors made: exact, but for the room of two slabs while they grow."""
    for part in HELD[name].parts:
        layout = part.model.layout
        own = np.diff(layout.start)
        after = np.append(own[1:], 0)
        slab = 8 * int((own**2 + after * layout.forward + after**2).max())
        assert direct_bytes(layout) - part.model.factor.n_bytes == 2 * slab


def test_factoring_takes_no_more_memory_than_told() -> None:
    """Against what Python's own tracing counts at the most, for a long bar treated as a large one."""
    mesh = bar_mesh(ROUND, fineness=Fineness(3, 1, 0.08, 0.04, 0.02))
    model = model_of(mesh)
    told = direct_bytes(model.layout)
    tracemalloc.start()
    model.factor  # noqa: B018 - made by being asked for
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # Kinds of slabs that are kept, and places of entries, come on top.
    assert told * 0.8 < peak < told * 1.25


def test_one_factor_at_a_time_where_all_would_not_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Limits: no factor is left when the next is made, none is made twice, and the answers are the same."""
    usual = MODELS["bed"]
    one = max(direct_bytes(part.model.layout) for part in usual.parts)
    model = replace(usual, limits=Limits(memory=1.01 * one))
    there: list[int] = []

    def counted(assembly: Assembly) -> BlockCholesky:
        there.append(sum("factor" in part.model.__dict__ for part in model.parts))
        return chain.factor_chain(assembly)

    monkeypatch.setattr(stickout.fem.solid.solvable, "factor_chain", counted)
    modes = solve_modes(model, 6)
    compliance = static_compliance(model)
    assert there == [0, 0, 0]
    assert not any("factor" in part.model.__dict__ for part in model.parts)
    same = solve_modes(usual, 6)
    # Each part is asked for more pairs at once, so its last steps differ: both within the tolerance.
    assert modes.frequency_hz == pytest.approx(same.frequency_hz, rel=1e-7)
    assert compliance == pytest.approx(static_compliance(usual), rel=1e-12, abs=1e-20)


@pytest.mark.parametrize(("limits", "direct"), [(DIRECTLY, True), (BY_ITERATION, False)])
def test_one_way_can_be_forced(limits: Limits, direct: bool) -> None:
    """Limits of infinity or nothing: the other way's tool is never made."""
    model = replace(SKEW, limits=limits)
    solve_modes(model, 2)
    static_compliance(model)
    assert ("factor" in model.__dict__, "two_level" in model.__dict__) == (direct, not direct)
    model.let_go()
    assert "factor" not in model.__dict__
    assert "two_level" not in model.__dict__


def test_the_way_is_chosen_by_memory_and_by_width() -> None:
    """Limits: a byte too little, or blocks too wide, and the bar is iterated; usual bars are factored."""
    layout = SKEW.layout
    assert USUAL.allow(layout)
    assert Limits(direct_bytes(layout), np.inf).allow(layout)
    assert not Limits(direct_bytes(layout) - 1, np.inf).allow(layout)
    widest = float(np.diff(layout.start).max())
    assert Limits(np.inf, widest).allow(layout)
    assert not Limits(np.inf, widest / 2).allow(layout)
    # Where cells are so flat that an iteration takes sixteen times as long, blocks may be four times as wide.
    assert Limits(np.inf, widest / 3.9, flat=1.0).allow(layout, flatness=15.0)
    assert not Limits(np.inf, widest / 4.1, flat=1.0).allow(layout, flatness=15.0)


def test_what_nothing_holds_is_told() -> None:
    """A body held nowhere, and not shifted: its parts have no answer, by factor or by iteration."""
    loose = replace(FREE["free flats"], shift=0.0, limits=BY_ITERATION)
    with pytest.raises(SolveError, match="holds the bar in every direction"):
        static_compliance(loose)


def test_an_iteration_that_does_not_end_is_told() -> None:
    """A tolerance of nothing: the message says how many modes converged."""
    scale = np.arange(1.0, 31.0)[:, None]
    operators = Operators(lambda v: scale * v, lambda v: v.copy(), lambda v: v.copy())
    start = np.random.default_rng(2).standard_normal((30, 4))
    space = GrowingSpace(operators, lambda wanted: start, tolerance=0.0)
    with pytest.raises(SolveError, match="0 of 2 modes converged"):
        space.lowest(2)


def test_asked_for_more_the_space_goes_on() -> None:
    """Closed form: a diagonal K has its entries as eigenvalues, asked for a few and then for more."""
    scale = np.arange(1.0, 61.0)[:, None] ** 2
    operators = Operators(lambda v: scale * v, lambda v: v.copy(), lambda v: v / (scale + 3))
    start = np.random.default_rng(2).standard_normal((60, 12))
    space = GrowingSpace(operators, lambda wanted: start[:, : wanted + 2], tolerance=1e-12)
    for wanted in (2, 5, 9):
        assert space.lowest(wanted).values == pytest.approx(scale[:wanted, 0], rel=1e-9)


@pytest.mark.parametrize(("new", "own"), [(1e-2, 1e-9), (1e-4, 1e-8)])
def test_starts_that_bring_next_to_nothing_do_no_harm(new: float, own: float) -> None:
    """Closed form: a turned diagonal; starts in the space but for one motion and a breath of their own.

    A parting blade asked for its seventh mode once got notes of 0 Hz from this.
    """
    chance = np.random.default_rng(2)
    turn = np.linalg.qr(chance.standard_normal((60, 60)))[0]
    values = np.arange(1.0, 61.0) ** 2
    stiffness, near = (turn * values) @ turn.T, (turn / (values + 3)) @ turn.T
    common, each = chance.standard_normal((60, 1)), chance.standard_normal((60, 40))

    def start(wanted: int) -> FloatArray:
        count = wanted + 4
        more = new * common * np.arange(1, count + 1) + own * each[:, :count]
        return turn[:, :12] if wanted == 2 else turn[:, :count] + more

    space = GrowingSpace(
        Operators(lambda v: stiffness @ v, lambda v: v.copy(), lambda v: near @ v), start, tolerance=1e-10
    )
    for wanted in range(2, 10):
        assert space.lowest(wanted).values == pytest.approx(values[:wanted], rel=1e-9)


def test_cells_without_families_are_iterated_too() -> None:
    """Another route: a mesh from a file knows no families, so every cell has its own matrix."""
    mesh = bar_mesh(FLATTED, fineness=COARSE)
    plain = model_of(replace(mesh, family=np.full(len(mesh.cells), -1)))
    found = solve_modes(plain, 4, limits=BY_ITERATION).frequency_hz
    # Both within the usual tolerance.
    assert found == pytest.approx(solve_modes(model_of(mesh), 4).frequency_hz, rel=1e-7)


def test_same_input_same_output() -> None:
    """Repeatability: the iteration starts the same, so two runs agree to the last digit."""
    model = model_of(bar_mesh(ROUND, fineness=COARSE), ROOT)
    runs = [solve_modes(model, 4, limits=BY_ITERATION) for _ in range(2)]
    assert np.array_equal(runs[0].frequency_hz, runs[1].frequency_hz)
    assert np.array_equal(runs[0].shapes, runs[1].shapes)
