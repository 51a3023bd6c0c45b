"""The chart of margins against the limits solved one by one: another route to the same numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cut_cases import FloatArray, flatted_bar

from stickout.fem.chatter.chart import chart_of
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.force.directions import MatrixOfDepth, cut_directions, nose_matrix
from stickout.fem.force.law import force_law
from stickout.fem.setup.work_materials import work_material

DEPTH = 0.2e-3
LOSS = np.geomspace(0.4, 2.5, 23)


def cut_of(nose_radius: float, edge_angle_deg: float) -> MatrixOfDepth:
    """Return the cut of a front boring bar in annealed carbon steel, over its depth."""
    law = force_law(work_material("medium carbon steel"))
    return nose_matrix(
        cut_directions("boring", None),
        law,
        feed=0.05e-3,
        nose_radius=nose_radius,
        edge_angle_deg=edge_angle_deg,
    )


def bar(angle_deg: float, *, softer: float) -> ModalModel:
    """Return the flatted bar of the check values, structural loss, all of it softer by a factor."""
    model = replace(flatted_bar(angle_deg), viscous=False)
    return replace(model, omega=model.omega / np.sqrt(softer), static=model.static * softer)


def batch(model: ModalModel, loss: FloatArray) -> ModalModel:
    """Return a model with its loss changed by factors."""
    return replace(model, eta=model.eta * loss[:, None])


@pytest.mark.parametrize(("nose", "edge_angle"), [(0.4e-3, 95.0), (0.1e-3, 75.0), (0.8e-3, 45.0)])
@pytest.mark.parametrize("angle", [0.0, 30.0, 75.0])
@pytest.mark.parametrize("softer", [0.3, 1.0, 6.0])
def test_what_is_read_off_is_what_is_solved(
    nose: float, edge_angle: float, angle: float, softer: float
) -> None:
    """Another route: each sample solved by itself, at losses between those of the chart."""
    model, matrix = bar(angle, softer=softer), cut_of(nose, edge_angle)(np.asarray(DEPTH))
    chart = chart_of(model, matrix, loss=LOSS)
    margins = absolute_limit(batch(model, LOSS), matrix).margin
    # Flatted bars bent both ways: where one mode takes over from the other the curve has a kink.
    assert chart.margins(LOSS) == pytest.approx(margins, rel=2e-2 if angle else 1e-4)


def test_a_loss_that_is_known_needs_one_column() -> None:
    """Degenerate limit: a band of no width."""
    model, matrix = bar(30.0, softer=1.0), cut_of(0.4e-3, 95.0)(np.asarray(DEPTH))
    chart = chart_of(model, matrix, loss=np.ones(3))
    margin = float(absolute_limit(model, matrix).margin)
    assert chart.margins(np.ones(2)) == pytest.approx([margin, margin], rel=1e-5)
