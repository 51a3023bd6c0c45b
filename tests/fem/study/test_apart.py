"""Directions refined apart, with invented meshes whose limit is known because it was put in."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from stickout.fem.study.accuracy import DEAR, MOST_APART, refine
from stickout.fem.study.apart import COARSE, Steps, combined, worth_solving
from stickout.fem.study.mesh_levels import ROUND, pressed
from stickout.fem.study.meshes_limit import MeshNumbers
from stickout.meshes.check import check_mesh
from stickout.meshes.parts import Bar
from stickout.meshes.pieces import Fineness
from stickout.meshes.tool import bar_mesh

LIMIT = np.array([1000.0, 1500.0, 4000.0])
KINDS = ["bending", "torsion", "axial"]
# What each direction leaves at first, in parts of the limit, and two together.
ERRORS = (0.004, 0.001, 0.005)
TOGETHER = 0.0004


def excess(steps: Steps, ratio: float) -> float:
    """Return how far above its limit a mesh's frequency lies: each step leaves a part of what was left."""
    left = [e * ratio**s for e, s in zip(ERRORS, steps, strict=True)]
    both = sum(TOGETHER * ratio ** (steps[i] + steps[j]) for i, j in ((0, 1), (0, 2), (1, 2)))
    return sum(left) + both


def numbers(steps: Steps, ratio: float) -> MeshNumbers:
    """Return what an invented mesh tells."""
    over = excess(steps, ratio)
    return MeshNumbers(LIMIT * (1 + over), KINDS, np.eye(3) * (1 - 2 * over))


def solved(degree: int, ratio: float) -> dict[Steps, MeshNumbers]:
    """Return all meshes up to so many steps in all that count."""
    every = {COARSE: numbers(COARSE, ratio)}
    for n in range(1, degree + 1):
        for steps in worth_solving(every, n, accuracy=1e-9, wanted=3):
            every[steps] = numbers(steps, ratio)
    return every


@pytest.mark.parametrize("degree", [1, 2, 3])
@pytest.mark.parametrize("ratio", [0.08, 0.15, 0.25])
def test_the_limit_lies_inside_the_told_error(degree: int, ratio: float) -> None:
    """Geometric errors in every direction and in pairs, at ratios as measured: covered, less each time."""
    meshes = solved(degree, ratio)
    found = combined(meshes, COARSE)
    assert len(meshes) == {1: 4, 2: 10, 3: 20}[degree]
    assert np.all(np.abs(found.frequency_hz / LIMIT - 1) <= found.error)
    assert np.all(np.abs(found.compliance - np.eye(3)) <= found.compliance_error)
    if degree > 1:
        assert np.all(found.error < combined(solved(degree - 1, ratio), COARSE).error)


def test_the_limit_does_not_depend_on_the_mesh_whose_order_is_kept() -> None:
    """Only the order of the modes comes from it."""
    meshes = solved(2, 0.2)
    one, other = combined(meshes, COARSE), combined(meshes, (1, 0, 1))
    assert one.frequency_hz == pytest.approx(other.frequency_hz, rel=1e-12)
    assert one.compliance == pytest.approx(other.compliance, rel=1e-12)


def test_an_idle_direction_is_told_not_solved() -> None:
    """Two directions that hardly matter: no mesh that has more of them, and the error tells them."""
    still = {steps: numbers((steps[0], 0, 0), 0.2) for steps in [COARSE, (1, 0, 0), (0, 1, 0), (0, 0, 1)]}
    assert list(worth_solving(still, 2, accuracy=1e-3, wanted=3)) == [(2, 0, 0)]
    told = combined({**still, (2, 0, 0): numbers((2, 0, 0), 0.2)}, COARSE)
    assert np.all(np.abs(told.frequency_hz / numbers((40, 0, 0), 0.2).frequency_hz - 1) <= told.error)


def refined(ratio: float, accuracy: float, size: int) -> tuple[object, list[Steps]]:
    """Return what ``refine`` finds on invented meshes of a size, and the steps it asked for."""
    asked: list[Steps] = []

    def solve(fineness: Fineness) -> SimpleNamespace:
        asked.append(fineness.steps)
        told = numbers(fineness.steps, ratio)
        return SimpleNamespace(numbers=told, let_go=lambda: None)

    return refine(solve, ROUND, accuracy=accuracy, wanted=3, size=lambda _: size), asked


def test_no_more_meshes_than_the_accuracy_asks_for() -> None:
    """Four meshes for what is easily told, more for what is not; each only once."""
    counts = []
    for accuracy in (0.01, 0.003, 0.0006):
        found, asked = refined(0.2, accuracy, DEAR + 1)
        assert found.reached
        assert len(set(asked)) == len(asked)
        counts.append(len(asked))
    assert counts[0] == 4
    assert counts[0] < counts[1] < counts[2] <= 20


def test_the_mesh_nearest_to_the_limit_is_kept() -> None:
    """Min-max principle: the one whose frequencies lie lowest."""
    found, asked = refined(0.2, 0.01, DEAR + 1)
    lowest = min(asked, key=lambda steps: excess(steps, 0.2))
    assert found.finest.numbers.frequency_hz == pytest.approx(numbers(lowest, 0.2).frequency_hz)


def test_meshes_too_large_are_not_tried_and_nothing_is_claimed() -> None:
    """One mesh alone is never believed to the accuracy asked for."""
    found, asked = refined(0.2, 0.001, MOST_APART + 1)
    assert asked == [COARSE]
    assert not found.reached


def test_modes_that_change_places_are_matched() -> None:
    """A mesh with two modes in the other order tells the same."""
    meshes = solved(1, 0.2)
    turned = meshes[(1, 0, 0)]
    order = [1, 0, 2]
    meshes[(1, 0, 0)] = replace(
        turned, frequency_hz=turned.frequency_hz[order], kinds=[KINDS[i] for i in order]
    )
    assert combined(meshes, COARSE).frequency_hz == pytest.approx(
        combined(solved(1, 0.2), COARSE).frequency_hz
    )


@pytest.mark.parametrize("flats", [3.5, 5.5, 13.0])
def test_a_flatted_section_is_halved_as_often_as_asked(flats: float) -> None:
    """Three halvings round the section: eight times the cells of the coarsest, however thin it is."""
    bar = Bar(30, section="flatted", diameter_mm=14, across_flats_mm=flats)
    planes = []
    for steps in range(4):
        mesh = bar_mesh(bar, fineness=Fineness(longest=8.0, first=4.0, steps=(0, steps, 0), crowd=0))
        check_mesh(mesh)
        at_root = mesh.points[np.abs(mesh.points[:, 0]) < 1e-12]
        planes.append(len(at_root))
    assert planes[3] > 3.5 * planes[1] > 3.5 * 1.5 * planes[0]


def test_an_equal_pair_of_which_one_is_cut_off_stays_equal() -> None:
    """Square bar: what either direction takes from one of a pair the other takes from its twin."""
    first, second, third = 1000.0, 5000.0, 9000.0
    at = {"bending 1": (0.98, 0.99), "bending 2": (0.99, 0.98)}

    def told(way: int | None) -> MeshNumbers:
        falls = {label: 1.0 if way is None else share[way] for label, share in at.items()}
        every = [(f * falls[label], label) for f in (first, second, third) for label in at]
        lowest = sorted(every)[:5]
        return MeshNumbers(np.array([f for f, _ in lowest]), [label for _, label in lowest], np.eye(3))

    still = told(None)
    found = combined({COARSE: still, (1, 0, 0): still, (0, 1, 0): told(0), (0, 0, 1): told(1)}, COARSE)
    assert found.frequency_hz[0] == pytest.approx(found.frequency_hz[1], rel=1e-12)
    assert found.frequency_hz[2] == pytest.approx(found.frequency_hz[3], rel=1e-12)


def test_a_pressed_bar_starts_as_fine_at_its_rim_as_the_accuracy_asks_for() -> None:
    """Half the error, one cut more; a bar twice as slender, one less; never without end."""
    cuts = [pressed(slender=4, accuracy=a).graded.sharp[0] for a in (1e-3, 5e-4, 2.5e-4, 1e-9)]
    assert cuts[1] == cuts[0] + 1
    assert cuts[2] == cuts[1] + 1
    assert cuts[3] == 5
    assert pressed(slender=8, accuracy=1e-3).graded.sharp[0] == cuts[0] - 1
    assert pressed(slender=400, accuracy=1e-2).graded.sharp == (0, 0, 0)


def test_a_graded_mesh_too_large_is_cut_less_often_at_its_rim() -> None:
    """As often as leaves every single step small enough, by a size that grows with the cuts."""
    asked: list[Fineness] = []

    def size(fineness: Fineness) -> int:
        asked.append(fineness)
        return 20_000 * (1 + max(fineness.sharp)) if max(fineness.steps) else DEAR + 1

    def solve(fineness: Fineness) -> SimpleNamespace:
        asked.append(fineness)
        raise StopIteration

    levels = pressed(slender=1, accuracy=1e-4)
    with pytest.raises(StopIteration):
        refine(solve, levels, accuracy=1e-4, wanted=3, size=size)
    assert levels.graded.sharp == (5, 0, 5)
    assert asked[-1].sharp == (2, 0, 2)
    assert asked[-1].steps == COARSE
