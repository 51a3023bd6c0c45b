"""Which way the cutting force pushes the edge, and how that is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.fem.force.blade import corners_of, cutting_edge
from stickout.fem.force.directions import cut_directions, force_on_tool
from stickout.fem.force.edge_load import local_force
from stickout.fem.force.law import CutForce, force_law
from stickout.fem.setup.parts import Cut
from stickout.fem.setup.work_materials import work_material
from stickout.meshes.tagged import FloatArray

MM = 1e-3
FORCE_MODEL = "force model"
# Feed and passive force over cutting force when the cut is not described: sharp tool, edge angle 75 to 95.
DEFAULT_SPLIT = CutForce(c=1.0, f=0.4, p=0.3)


@dataclass(frozen=True)
class Loading:
    """The direction of the force on the tool, unit vector (3,), and where it comes from.

    ``how`` is one of ``given``, ``force model``, ``default split`` and ``no cut``.
    """

    direction: FloatArray
    how: str


def loading(cut: Cut | None) -> Loading:
    """Return the direction of the force on the tool in the bar frame.

    Parameters
    ----------
    cut
        The cut; its ``force_direction`` comes first, then the force model when depth, feed, nose
        radius, edge angle and work material are all known, then a default split of the components
        of its operation. Without a cut the force is taken straight down.

    Returns
    -------
    Loading
        Unit vector and its origin.

    Source
    ------
    Default split 1 : 0.4 : 0.3 for cutting, feed and passive force: common practice, no source.
    """
    if cut is None:
        return Loading(np.array([0.0, 0.0, -1.0]), "no cut")
    if cut.force_direction is not None:
        given = np.array(cut.force_direction)
        return Loading(given / np.linalg.norm(given), "given")
    directions = cut_directions(cut.operation or "", cut.side, rear_tool=cut.rear_tool)
    force, how = cutting_force(cut)
    push = force_on_tool(directions, force)
    return Loading(push / np.linalg.norm(push), how)


def cutting_force(cut: Cut) -> tuple[CutForce, str]:
    """Return the components of the cutting force on the work and how they are known.

    Newtons when the force model applies (``how`` is ``force model``), ratios otherwise.
    """
    depth, feed, nose, angle = cut.depth_mm, cut.feed_mm, cut.nose_radius_mm, cut.edge_angle_deg
    if cut.work_material is None or depth is None or feed is None or nose is None or angle is None:
        return DEFAULT_SPLIT, "default split"
    corners = corners_of(cut.operation)
    edge = cutting_edge(depth * MM, feed * MM, nose_radius=nose * MM, edge_angle_deg=angle, corners=corners)
    law = force_law(work_material(cut.work_material), rake_deg=cut.rake_deg, wear=cut.wear_factor)
    return local_force(law, edge), FORCE_MODEL
