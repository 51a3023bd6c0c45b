"""Arrows of the force: in the viewer's model as the study has it, in the edge's picture out of the work."""

from __future__ import annotations

import numpy as np
import pytest
from cutting_cases import BORE
from matplotlib.figure import Figure
from matplotlib.text import Annotation

from stickout.cli.show.pages.viewer_model import viewer_model
from stickout.cli.show.plots.edge_plot import draw_edge
from stickout.fem import Bar, Cut, RigidGrip, Setup, run_study
from stickout.fem.force.case import case_of
from stickout.fem.setup.parts import Solve


@pytest.mark.parametrize("way", [(0.0, 0.0, -1.0), (0.0, -0.6, -0.8), (-0.36, 0.48, -0.8)])
def test_the_viewers_arrow_points_where_the_force_on_the_tool_points(way: tuple[float, float, float]) -> None:
    """Given by the user, so known: the arrow must not be the force on the work."""
    cut = Cut(operation="turning", force_direction=way)
    setup = Setup(bar=Bar(40, diameter_mm=16), grip=RigidGrip(), cut=cut, solve=Solve(1, 0.05))
    assert viewer_model(run_study(setup))["force"] == pytest.approx(way, abs=1e-4)


def test_the_edges_arrow_pushes_the_tool_back_against_the_feed_and_out_of_the_work() -> None:
    """The tool feeds to the right of the picture and the work lies below: so the push goes left and up."""
    axes = Figure().subplots()
    draw_edge(axes, case_of(BORE))
    arrows = [one for one in axes.texts if isinstance(one, Annotation) and one.arrow_patch is not None]
    pushes = [np.subtract(one.xy, one.xyann) for one in arrows if not one.get_text()]
    assert pushes
    push = max(pushes, key=np.linalg.norm)
    force = case_of(BORE).force
    assert push[0] < 0 < push[1]
    assert push[1] / -push[0] == pytest.approx(force.p / force.f, rel=1e-6)
