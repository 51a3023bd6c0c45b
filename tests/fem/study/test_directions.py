"""Pairs of equal modes turned to a force, on motions written out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.study.directions import alignment, pair_turns, signed

# A pair that moves up and sideways, turned by 25 degrees as a solver may return it.
C, S = np.cos(np.radians(25.0)), np.sin(np.radians(25.0))
PAIR = np.array([[0.0, 3.0 * C, 3.0 * S], [0.0, -3.0 * S, 3.0 * C]])


@pytest.mark.parametrize("angle", [0.0, 40.0, 90.0, 200.0])
def test_the_first_of_a_pair_takes_all_the_motion_along_the_force(angle: float) -> None:
    """Definition: the second moves across it; the size of both together stays."""
    force = np.array([0.3, np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    edge = pair_turns(PAIR, [(0, 1)], force=force) @ PAIR
    assert edge[1] @ force == pytest.approx(0.0, abs=1e-12)
    assert (edge**2).sum() == pytest.approx(18.0)
    assert alignment(edge, np.array([0.0, *force[1:]]))[0] == pytest.approx(1.0)


def test_a_force_that_moves_neither_turns_the_pair_upright() -> None:
    """A push along the bar picks no way to bend; the pair is then told as up and down, and sideways."""
    turn = pair_turns(PAIR, [(0, 1)], force=np.array([1.0, 0.0, 0.0]))
    edge, _ = signed(turn @ PAIR, still=np.full(2, 1e-9))
    assert edge == pytest.approx(np.array([[0.0, 0.0, 3.0], [0.0, 3.0, 0.0]]), abs=1e-9)
