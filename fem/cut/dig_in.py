"""Whether a parting blade digs in: the cutting force pulls its edge into the work, without any wave."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.cut.models import coarse_model
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class DigIn:
    """How a blade answers its own force.

    Attributes
    ----------
    factor
        How far the cut may grow before the edge is pulled in faster than it can cut itself free [-]; inf
        where the force springs it away. At or below one it digs in.
    pulled
        How far the cut's force moves the edge into the work [m]; negative: away from it.
    above
        Height of the edge over the axis of the blade that was taken [m].
    """

    factor: float
    pulled: float
    above: float


def dig_in_of(setup: Setup, case: CutCase) -> DigIn | None:
    """Return whether the blade of a parting cut digs in; None for every other cut.

    Parameters
    ----------
    setup
        The set-up. Where it does not say how high its edge stands, that is the top of the blade: bending
        down, a blade moves what is above its axis into the work.
    case
        Its cut.

    Notes
    -----
    On a coarse mesh, good to a few per cent; post included where it is described.

    Raises
    ------
    SolveError
        The coarse solve failed.
    """
    if case.cut.operation != "parting":
        return None
    height, edge = setup.bar.height_mm or setup.bar.width_mm or setup.bar.diameter_mm or 0.0, setup.edge
    above = edge.offset_z_mm
    if above == 0.0:
        above = -0.5 * height if case.cut.rear_tool else 0.5 * height
    model = coarse_model(replace(setup, edge=replace(edge, offset_z_mm=above), absorber=None))
    pulled = float(case.directions.feed @ model.static @ case.on_tool)
    return DigIn(static_factor(model.static, case.stiffness), pulled, abs(above) * 1e-3)


def static_factor(static: FloatArray, stiffness: FloatArray) -> float:
    """Return how far a cut may grow before its edge runs into the work by itself [-]; inf: never.

    Parameters
    ----------
    static
        Static compliance of edge against work [m/N], shape (3, 3).
    stiffness
        Dynamic stiffness of the cut A [N/m], shape (3, 3).

    Source
    ------
    ``det(I + s G A) = 0`` at rest: within a turn a deeper edge finds the same surface, nothing regenerates
    (computed here); cross-compliance against ``1 / (Ks b)`` (recalled, not opened).
    """
    values = np.linalg.eigvals(static @ stiffness)
    real = values[np.abs(values.imag) <= 1e-9 * np.abs(values).max()].real
    worst = float(real.min()) if real.size else 0.0
    return -1.0 / worst if worst < 0.0 else float("inf")
