"""Matrices of a cut at many depths at once: each as if it were alone, and one edge by hand."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.force.directions import cut_directions, nose_matrix
from stickout.fem.force.edge_load import edge_pieces, local_chip
from stickout.fem.force.law import force_law
from stickout.fem.force.nose import engaged_edge
from stickout.fem.setup.work_materials import work_material

MM = 1e-3
LAW = force_law(work_material("medium carbon steel"))
# Operation, nose radius [mm], edge angle [deg]: arc alone and arc with straight edge, sharp corner, blades.
CUTS = [
    ("boring", 0.4, 95.0),
    ("turning", 0.8, 45.0),
    ("turning", 0.0, 75.0),
    ("parting", 0.2, 90.0),
    ("parting", 0.0, 80.0),
]


@pytest.mark.parametrize(("operation", "nose", "angle"), CUTS)
def test_many_depths_at_once_are_those_of_each_alone(operation: str, nose: float, angle: float) -> None:
    """Depths from a scratch to beyond the nose, and widths below twice the corner's radius, in any shape."""
    corners = 2 if operation == "parting" else 1
    matrix = nose_matrix(
        cut_directions(operation),
        LAW,
        feed=0.05 * MM,
        nose_radius=nose * MM,
        edge_angle_deg=angle,
        corners=corners,
    )
    depths = np.geomspace(0.001, 3.0, 12).reshape(3, 4) * MM
    together = matrix(depths)
    assert together.shape == (3, 4, 3, 3)
    for at in np.ndindex(3, 4):
        alone = matrix(np.asarray(depths[at]))
        np.testing.assert_allclose(together[at], alone, rtol=1e-12, atol=1e-12 * np.abs(alone).max())


def test_what_is_kept_cannot_be_spoilt() -> None:
    """A caller who writes into a matrix changes his own alone."""
    matrix = nose_matrix(
        cut_directions("boring"), LAW, feed=0.05 * MM, nose_radius=0.4 * MM, edge_angle_deg=95.0
    )
    first = matrix(np.asarray(0.2 * MM))
    first *= 2.0
    np.testing.assert_allclose(matrix(np.asarray(0.2 * MM)), first / 2.0, rtol=1e-15)


def test_lengths_of_a_batch_add_up_to_the_engaged_edge() -> None:
    """By hand: a nose of r below its tangent point engages r (trailing + leading angle) of arc."""
    depths = np.array([0.05, 0.1, 0.2]) * MM
    edge = engaged_edge(depths, 0.05 * MM, nose_radius=0.4 * MM, edge_angle_deg=95.0)
    phi, length = edge_pieces(edge)
    lead, trail = np.arccos(1 - depths / (0.4 * MM)), np.arcsin(0.05 / 0.8)
    np.testing.assert_allclose(length.sum(axis=-1), 0.4 * MM * (lead + trail), rtol=1e-12)
    np.testing.assert_array_equal(phi, local_chip(edge)[0])
