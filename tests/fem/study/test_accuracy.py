"""Error control with invented frequencies, whose limit is known because it was put in."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import support_of
from stickout.fem.solid.supports import bed
from stickout.fem.study.accuracy import DEAR, MOST_APART, refine
from stickout.fem.study.mesh_levels import ROUND, directions
from stickout.fem.study.meshes_limit import MeshNumbers, split, tended, worst_error
from stickout.fem.study.study import levels_of, mesh_of, solve_level
from stickout.meshes.pieces import Fineness
from stickout.meshes.sweep import halved

LIMIT = np.array([1000.0, 1500.0, 4000.0])
KINDS = ["bending", "torsion", "axial"]


def mesh(excess: np.ndarray, order: list[int] | None = None) -> MeshNumbers:
    """Return a mesh whose frequencies lie above the limit by relative ``excess``, in an order of its own."""
    order = order or [0, 1, 2]
    frequency = (LIMIT * (1 + excess))[order]
    return MeshNumbers(frequency, [KINDS[i] for i in order], np.eye(3) / (1 + 2 * excess[0]))


def level(numbers: MeshNumbers) -> SimpleNamespace:
    """Return a solved mesh as ``refine`` takes it, without a model behind it."""
    return SimpleNamespace(numbers=numbers, let_go=lambda: None)


def refined(excesses: list[list[float]], **options: object) -> tuple[object, list[object]]:
    """Return what ``refine`` finds on invented meshes, and which it asked for."""
    asked: list[object] = []

    def solve(fineness: object) -> SimpleNamespace:
        asked.append(fineness)
        return level(mesh(np.array(excesses[len(asked) - 1])))

    found = refine(solve, ROUND, accuracy=1e-3, wanted=3, **options)
    return found, asked


def test_the_worst_of_what_was_asked_for_rules() -> None:
    """Two modes that meshes agree on do not make up for a third that still moves by 1 % from mesh to mesh."""
    moving = np.array([1e-6, 1e-6, 1.2e-2]), np.array([0.0, 0.0, 2e-3])
    found = tended([mesh(one) for one in moving])
    worst = worst_error(found.error, found.compliance_error, wanted=3)
    assert worst == found.error.max() > 1e-3
    assert worst_error(found.error, found.compliance_error, wanted=2) < 1e-3
    _, asked = refined([[float(x) for x in one] for one in (*moving, *[moving[1]] * 3)])
    assert len(asked) > 2


def test_modes_that_change_places_between_meshes_are_matched_by_kind() -> None:
    """The torsion mode came first on the coarse mesh: its limit must not be built from the bending mode's."""
    coarse, fine = mesh(np.array([0.012, 0.0, 0.01]), [1, 0, 2]), mesh(np.array([0.002, 0.0, 0.002]))
    found = tended([coarse, fine])
    assert found.frequency_hz[1] == pytest.approx(1500.0, rel=1e-12)
    assert np.all(np.abs(found.frequency_hz / LIMIT - 1) <= found.error)


def test_two_meshes_tell_an_error_that_covers_what_is_left() -> None:
    """Whatever the true ratio up to the third that theory gives, the limit lies inside the error."""
    for ratio in (0.0, 0.1, 0.2, 0.3, 0.35):
        first = np.array([2e-4, 1e-4, 3e-4])
        found = tended([mesh(first), mesh(first * ratio)])
        assert np.all(np.abs(found.frequency_hz / LIMIT - 1) <= found.error * (1 + 1e-9)), ratio
        exact = np.eye(3)
        assert np.all(np.abs(found.compliance - exact) <= found.compliance_error * (1 + 1e-9)), ratio


def test_a_frequency_that_rises_is_told_with_the_whole_step() -> None:
    """Nested meshes cannot do that (min-max principle): something is amiss, and no part of it is believed."""
    found = tended([mesh(np.array([0.001, 0.002, 0.002])), mesh(np.array([0.002, 0.001, 0.001]))])
    assert found.error[0] == pytest.approx(1e-3, rel=1e-2)
    assert found.error[1] == pytest.approx(0.3e-3, rel=1e-2)
    assert np.diag(found.compliance_error) == pytest.approx(np.full(3, 2e-3), rel=1e-2)


def test_a_coupling_is_off_by_no_more_than_both_its_ways_allow() -> None:
    """Steps that cancel in an entry: Cauchy-Schwarz bounds it by the diagonal ones."""
    coarse = MeshNumbers(LIMIT, KINDS, np.eye(3))
    fine = MeshNumbers(LIMIT, KINDS, np.diag([1.04, 1.01, 1.0]))
    found = tended([coarse, fine])
    assert found.compliance[0, 1] == 0.0
    assert found.compliance_error[0, 1] == pytest.approx(0.3 * 0.02, rel=0.05)


def test_directions_apart_tell_less_than_the_pair() -> None:
    """Three directions that are 1/6 of what the pair's step was: the limit is put beyond them, and told."""
    pair = [mesh(np.full(3, 0.012)), mesh(np.full(3, 0.002))]
    more = {name: mesh(np.full(3, 0.002 - 0.0006)) for name in ("singular", "along", "across")}
    found = split(pair, more)
    assert np.all(found.error < tended(pair).error)
    assert np.all(np.abs(found.frequency_hz / LIMIT - 1) <= found.error)


def test_one_bad_mode_keeps_the_accuracy_from_being_reached() -> None:
    """Two modes that are right do not make up for a third that is not: every direction is tried, in vain."""
    good, bad = [1e-5, 1e-5, 0.2], [1e-6, 1e-6, 0.14]
    found, asked = refined([good, bad, *[[1e-7, 1e-7, 0.12]] * 3])
    assert not found.reached
    assert len(asked) == 5


def test_a_mesh_too_large_to_be_solved_is_not_tried() -> None:
    """The limits, and not one unknown more; one mesh alone is never believed to 1e-3."""
    excesses = [[0.2, 0.2, 0.2], [0.14, 0.14, 0.14], *[[0.12] * 3] * 18]
    for unknowns, meshes in ((DEAR, 5), (DEAR + 1, 14), (MOST_APART, 14), (MOST_APART + 1, 1)):
        found, asked = refined(excesses, size=lambda _, n=unknowns: n)
        assert len(asked) == meshes
        assert not found.reached


def setup_of(dimensions: str, grip: str, more: str = "") -> Setup:
    """Return a set-up with a rough accuracy and few modes."""
    text = f'units = "mm"\n[bar]\n{dimensions}\nmaterial = "steel"\n[grip]\n{grip}\n{more}\n'
    return parse_setup(text + "[solve]\nmodes = 3\naccuracy = 0.01\n").setup


RIGID = 'style = "rigid"'
STEPPED = setup_of(
    'section = "round"\ndiameter = 20\noverhang = 50', RIGID + "\n[[bar.steps]]\nstart = 25\ndiameter = 12"
)
BARS = {
    "round": setup_of('section = "round"\ndiameter = 16\noverhang = 48', RIGID),
    "square": setup_of('section = "square"\nwidth = 12\noverhang = 36', RIGID),
    "bed": setup_of('section = "round"\ndiameter = 16\noverhang = 40\ngripped = 24', 'style = "bed"'),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", BARS)
def test_a_finer_mesh_finds_no_told_error_too_small(name: str) -> None:
    """Bars against our own mesh one whole subdivision finer and extrapolated: lower, softer, and covered."""
    setup = BARS[name]
    fineness = levels_of(setup).fineness
    finer = replace_cuts(fineness[1])
    levels = [solve_level(setup, f) for f in (*fineness, finer)]
    numbers = [MeshNumbers(x.modes.frequency_hz[:3], x.kinds[:3], x.compliance) for x in levels]
    told, better = tended(numbers[:2]), tended(numbers[1:])
    for coarse, fine in pairwise(numbers):
        assert np.all(fine.frequency_hz <= coarse.frequency_hz * (1 + 1e-6))
        size = np.sqrt(np.diag(fine.compliance))
        step = (fine.compliance - coarse.compliance) / np.outer(size, size)
        assert np.linalg.eigvalsh(step).min() > -1e-6
    assert np.all(np.abs(told.frequency_hz / better.frequency_hz - 1) <= told.error + better.error)
    size = np.sqrt(np.diag(better.compliance))
    off = np.abs(told.compliance - better.compliance) / np.outer(size, size)
    assert np.all(off <= told.compliance_error + better.compliance_error)


def replace_cuts(fineness: Fineness) -> Fineness:
    """Return a fineness subdivided once more everywhere."""
    return replace(fineness, cuts=fineness.cuts + 1)


def test_every_interval_of_a_mesh_is_cut_in_the_next() -> None:
    """No interval is left as it was, no station moved: there is one more between each two."""
    coarse = np.array([0.0, 1.0, 3.0, 7.0, 8.0])
    fine = halved(coarse, [0.0], fineness=Fineness(cuts=1, deep=1), first=1.0, more=0)
    assert set(coarse) <= set(fine)
    assert fine.tolist() == [0.0, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 7.5, 8.0]
    setup = STEPPED
    first, second = (mesh_of(setup, f).points for f in levels_of(setup).fineness)
    stations, finer = (np.unique(np.round(points[:, 0], 12)) for points in (first, second))
    # Planes of middles are planes of corners on the next mesh.
    assert set(stations) <= set(finer)


def test_directions_are_disjoint() -> None:
    """Each direction cuts what the others leave: splitting extrapolation adds them up."""
    at = np.array([0.0, 1.0, 3.0])
    fine = halved(at, [0.0], fineness=ROUND.fineness[1], first=1.0, more=0)
    rim, along = (directions(ROUND)[name] for name in ("singular", "along"))
    at_rim = halved(at, [0.0], fineness=rim, first=1.0, more=rim.along)
    elsewhere = halved(at, [0.0], fineness=along, first=1.0, more=along.along)
    assert set(at_rim) & set(elsewhere) == set(fine)
    assert len(at_rim) > len(fine) < len(elsewhere)


@pytest.mark.parametrize("name", [*BARS, "stepped"])
def test_a_step_in_one_direction_cuts_that_one_alone(name: str) -> None:
    """Three single steps keep what they do not mean; all three together are the second mesh."""
    setup = {**BARS, "stepped": STEPPED}[name]
    first, second = levels_of(setup).fineness
    crowd = second.deep - first.deep
    single = [replace(first, steps=steps, crowd=crowd) for steps in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
    all_three = replace(first, steps=(1, 1, 1), crowd=crowd)
    assert np.array_equal(mesh_of(setup, all_three).points, mesh_of(setup, second).points)
    coarse, *finer = (mesh_of(setup, one) for one in (first, *single))
    planes = [len(np.unique(np.round(one.points[:, 0], 12))) for one in (coarse, *finer)]
    assert planes[1] > 1.9 * planes[0] - 1
    assert planes[2:] == [planes[0]] * 2
    for one in finer:
        assert len(one.cells) > 1.3 * len(coarse.cells)


@pytest.mark.parametrize("flats", [14.0, 15.2])
def test_screws_press_the_same_on_every_mesh(flats: float) -> None:
    """Sum of the springs and their second moment about y: those of a square of a screw's area."""
    grip = (
        'style = "slot"\nscrews = 2\nscrew_diameter = 4\nscrew_spacing = 12\nfirst_screw = 6\n'
        "joint_n_per_um_mm2 = 1"
    )
    bar = f'section = "flatted"\ndiameter = 16\nacross_flats = {flats}\noverhang = 40\ngripped = 24'
    setup = setup_of(bar, grip)
    spring = support_of(setup).springs["screws on bar"]
    for fineness in levels_of(setup).fineness:
        mesh = mesh_of(setup, fineness)
        ties = bed(mesh, spring)
        y = mesh.points[ties.nodes, 1]
        normal = ties.stiffness[:, 2::3, 2::3]
        area, side = 2 * np.pi * 0.002**2, 0.004 * np.sqrt(np.pi) / 2
        assert normal.sum() == pytest.approx(spring.normal * area, rel=1e-9)
        moment = np.einsum("fa,fab,fb->", y, normal, y)
        assert moment == pytest.approx(spring.normal * area * side**2 / 12, rel=1e-6)


def test_a_mode_that_bears_another_kind_on_the_finer_mesh_keeps_its_place() -> None:
    """Min-max principle: of modes that lie apart the n-th goes with the n-th, whatever each is called."""
    frequency = np.array([1000.0, 3000.0, 4000.0, 9000.0])
    coarse = MeshNumbers(1.001 * frequency, ["bending", "torsion", "bending", "torsion"], np.eye(3))
    fine = MeshNumbers(frequency, ["bending", "mixed", "bending", "torsion"], 1.001 * np.eye(3))
    assert tended([coarse, fine]).error == pytest.approx(3e-4, rel=1e-2)
    assert split([coarse, fine], {"along": coarse}).error.max() < 2e-3
