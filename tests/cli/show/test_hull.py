"""The convex outline of points, against SciPy's Qhull."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from stickout.cli.show.scene.hull import convex_outline

RNG = np.random.default_rng(5)
TURN = np.linspace(0, 2 * np.pi, 48, endpoint=False)


@pytest.mark.parametrize(
    "points",
    [
        RNG.normal(size=(400, 2)),
        1e-3 * np.stack([8 * np.cos(TURN), 8 * np.sin(TURN)], axis=1),
        np.array([[x, y] for x in range(9) for y in range(5)], dtype=float),
        np.repeat([[0.0, 0.0], [2.0, 0.0], [1.0, 1.0]], 3, axis=0),
    ],
)
def test_the_outline_is_that_of_qhull(points: np.ndarray) -> None:
    """The same corners in the same sense; of a grid only its four, twins once."""
    found = convex_outline(points)
    wanted = points[ConvexHull(points).vertices]
    first = int(np.lexsort((wanted[:, 1], wanted[:, 0]))[0])
    assert found == pytest.approx(np.roll(wanted, -first, axis=0))
