"""Error control with invented frequencies, whose limit is known because it was put in."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from stickout.fem.study.accuracy import MOST_ALONE, PRESSED, ROUND, MeshNumbers, refine, tended

LIMIT = np.array([1000.0, 1500.0, 4000.0])
KINDS = ["bending", "torsion", "axial"]


def mesh(excess: np.ndarray, order: list[int] | None = None) -> MeshNumbers:
    """Return a mesh whose frequencies lie above the limit by relative ``excess``, in an order of its own."""
    order = order or [0, 1, 2]
    frequency = (LIMIT * (1 + excess))[order]
    return MeshNumbers(frequency, [KINDS[i] for i in order], np.eye(3) / (1 + 2 * excess[0]))


def level(numbers: MeshNumbers) -> SimpleNamespace:
    """Return a solved mesh as ``refine`` takes it, without a model behind it."""
    return SimpleNamespace(
        model=SimpleNamespace(let_go=lambda: None),
        modes=SimpleNamespace(frequency_hz=numbers.frequency_hz),
        kinds=numbers.kinds,
        compliance=numbers.compliance,
        parts=1,
    )


def refined(excesses: list[list[float]], **options: object) -> tuple[object, list[object]]:
    """Return what ``refine`` finds on invented meshes, and which it asked for."""
    asked: list[object] = []

    def solve(fineness: object) -> SimpleNamespace:
        asked.append(fineness)
        return level(mesh(np.array(excesses[len(asked) - 1])))

    found = refine(solve, ROUND, accuracy=1e-3, wanted=3, **options)
    return found, asked


def test_modes_that_change_places_between_meshes_are_matched_by_kind() -> None:
    """The torsion mode came first on the coarse mesh: its limit must not be built from the bending mode's."""
    coarse, fine = mesh(np.array([0.012, 0.0, 0.01]), [1, 0, 2]), mesh(np.array([0.004, 0.0, 0.003]))
    found = tended([coarse, fine], ROUND)
    assert found.frequency_hz == pytest.approx(LIMIT, rel=1.5e-3)
    assert found.frequency_hz[1] == pytest.approx(1500.0, rel=1e-12)
    assert np.all(found.error < 0.02)


def test_three_meshes_with_a_steady_ratio_give_the_limit_itself() -> None:
    """Errors that fall by 0.3 each time: the geometric series ends at the number that was put in."""
    first = np.array([0.02, 0.01, 0.03])
    found = tended([mesh(first * 0.3**n) for n in range(3)], ROUND)
    assert found.frequency_hz == pytest.approx(LIMIT, rel=1e-9)


def test_two_meshes_tell_an_error_that_covers_what_is_left() -> None:
    """Whatever the true ratio in the range that was seen, 0.1 to 0.5, the limit lies inside the error."""
    for ratio in (0.1, 0.2, 0.3, 0.4, 0.5):
        first = np.array([0.02, 0.01, 0.03])
        found = tended([mesh(first), mesh(first * ratio)], ROUND)
        assert np.all(np.abs(found.frequency_hz / LIMIT - 1) <= found.error * (1 + 1e-9)), ratio


def test_one_bad_mode_keeps_the_accuracy_from_being_reached() -> None:
    """Two modes that are right do not make up for a third that is not: all meshes are tried, all in vain."""
    good, bad = [1e-5, 1e-5, 0.2], [1e-6, 1e-6, 0.14]
    found, asked = refined([good, bad, [1e-7, 1e-7, 0.1], [1e-8, 1e-8, 0.08]])
    assert not found.reached
    assert len(asked) == 4


def test_a_mesh_too_large_to_be_solved_alone_is_not_tried() -> None:
    """The limit is half a minute and two gigabytes: 240 000 unknowns (DEVELOPERS.md), and not one more."""
    excesses = [[0.2, 0.2, 0.2], [0.14, 0.14, 0.14], [0.1, 0.1, 0.1], [0.08, 0.08, 0.08]]
    for unknowns, meshes in ((240_000, 4), (240_001, 2)):
        _, asked = refined(excesses, size=lambda _, n=unknowns: n)
        assert len(asked) == meshes
    assert MOST_ALONE == 240_000


def test_two_meshes_of_a_pressed_grip_cover_what_is_left() -> None:
    """Where part of a side is held the error falls with the length itself: 0.41 to 0.51 were seen."""
    for ratio in (0.41, 0.45, 0.51):
        first = np.array([0.02, 0.01, 0.03])
        found = tended([mesh(first), mesh(first * ratio)], PRESSED)
        assert np.all(np.abs(found.frequency_hz / LIMIT - 1) <= found.error), ratio
