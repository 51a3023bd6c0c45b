"""What a small motion of the edge does to the force: the cut's matrix and the flank's, axes (p, c, f).

Both are integrals along the whole engaged edge, the trailing arc included: the cut's with the slope of the
force law at the local chip thickness, the flank's with one coefficient for each metre of edge.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.edge_load import edge_pieces, local_chip
from stickout.fem.force.law import ForceLaw, tangent_coefficient
from stickout.fem.force.nose import EngagedEdge

FloatArray = NDArray[np.float64]

# Chip thickness below which a point of the edge does not cut [m].
_NO_CHIP = 1e-15


def local_cut_matrix(law: ForceLaw, edge: EngagedEdge) -> FloatArray:
    """Return A of ``dF = -A (r(t) - r(t - tau))``, the slope of the local force along the edge.

    Parameters
    ----------
    law
        The force law.
    edge
        The engaged edge, at one depth or at depths of shape (...).

    Returns
    -------
    ndarray
        Dynamic stiffness of the cut [N/m], shape (..., 3, 3), forces on the tool.

    Source
    ------
    A motion r thickens the chip by ``n . r`` along the local normal (computed here).
    """
    phi, chip, length = local_chip(edge)
    cuts = chip > _NO_CHIP
    slope = np.where(cuts, tangent_coefficient(law, np.where(cuts, chip, 1.0)), 0.0) * length
    return _along_edge(phi, slope, passive=law.thrust_ratio, cutting=1.0)


def flank_matrix(edge: EngagedEdge, coefficient: float, *, friction: float) -> FloatArray:
    """Return C_B of ``dF = -(C_B / v) dr/dt``: what the rubbing flank adds, forces on the tool.

    Parameters
    ----------
    edge
        The engaged edge, at one depth or at depths of shape (...).
    coefficient
        Thrust for each metre of edge and unit of slope of the path, C [N/m].
    friction
        Friction of the flank on the work [-].

    Returns
    -------
    ndarray
        Force per slope [N], shape (..., 3, 3): over the cutting speed in m/s it is a damping in N s/m.

    Source
    ------
    Half-wave indentation ``Ksp Lw^2 / 4``: Wu 1989; Chiou & Liang 1998 (recalled, not opened); integrals of
    the local normal along the edge (computed here).
    """
    phi, length = edge_pieces(edge)
    return _along_edge(phi, coefficient * length, passive=1.0, cutting=friction)


def _along_edge(phi: FloatArray, slope: FloatArray, *, passive: float, cutting: float) -> FloatArray:
    """Return the sum along an edge of force over motion [N/m], shape (..., 3, 3).

    Pieces with normals at ``phi``, (..., n), answer motion along the normal by ``slope``: ``passive`` times
    that against it, and ``cutting`` times along the cutting direction.
    """
    normal = np.stack([np.cos(phi), np.zeros_like(phi), np.sin(phi)], axis=-2)
    push = passive * normal
    push[..., 1, :] = cutting
    return np.asarray((push * slope[..., None, :]) @ np.swapaxes(normal, -1, -2))
