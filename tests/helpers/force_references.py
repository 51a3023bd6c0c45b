"""Simpler force models of textbooks that the tests compare the program with."""

from __future__ import annotations

import numpy as np

from stickout.fem.force.directions import CutDirections, force_on_tool
from stickout.fem.force.law import CutForce, EdgeForm
from stickout.fem.force.nose import EngagedEdge
from stickout.meshes.tagged import FloatArray


def edge_form_force(form: EdgeForm, *, edge: EngagedEdge, thrust_ratio: float) -> CutForce:
    """Return the force of a light cut by the edge-force form, with the integrated normals.

    Parameters
    ----------
    form
        The edge-force form.
    edge
        The engaged edge, one depth.
    thrust_ratio
        Thrust over cutting force [-].

    Returns
    -------
    CutForce
        Components [N]. The chip's share is spread evenly along the engaged edge.

    Source
    ------
    Own combination (computed here).
    """
    total = form.cutting * float(edge.area) + form.edge * float(edge.length)
    run, rise = _mean_normal(edge)
    return CutForce(c=total, f=thrust_ratio * total * rise, p=thrust_ratio * total * run)


def _mean_normal(edge: EngagedEdge) -> tuple[float, float]:
    """Return the mean of the local normal over the whole engaged edge, passive and feed parts."""
    r, trail = edge.nose_radius, float(edge.trailing_angle)
    run = (float(edge.cos_integral) + r * np.sin(trail)) / float(edge.length)
    rise = (float(edge.sin_integral) - r * (1.0 - np.cos(trail))) / float(edge.length)
    return float(run), float(rise)


def cut_matrix(
    edge: EngagedEdge, *, tangential: FloatArray | float, thrust: FloatArray | float
) -> FloatArray:
    """Return A of ``dF = -A (r(t) - r(t - tau))``, axes (p, c, f), forces on the tool.

    Parameters
    ----------
    edge
        The engaged edge.
    tangential
        Tangent coefficient of the cutting force Kt [Pa].
    thrust
        Tangent coefficient of the thrust along the local normal Kr [Pa].

    Returns
    -------
    ndarray
        Dynamic stiffness of the cut [N/m], shape (..., 3, 3).

    Source
    ------
    Structure as in Ozlu & Budak 2006 (recalled, not opened); derivation computed here.
    """
    zero = np.zeros_like(edge.width_pp)
    rows = [
        [thrust * edge.width_pp, zero, thrust * edge.width_pf],
        [tangential * edge.cos_integral, zero, tangential * edge.sin_integral],
        [thrust * edge.width_pf, zero, thrust * edge.width_ff],
    ]
    return np.stack([np.stack(np.broadcast_arrays(*row), axis=-1) for row in rows], axis=-2)


def apparent_coefficient(form: EdgeForm, chip: float) -> float:
    """Return the force per chip area of the edge-force form, ``cutting + edge / h``.

    Parameters
    ----------
    form
        The edge-force form.
    chip
        Chip thickness [m].

    Returns
    -------
    float
        Force per chip area [Pa].

    Source
    ------
    Armarego; Budak, Altintas & Armarego 1996 (recalled, not opened).
    """
    return form.cutting + form.edge / chip


def surface_normal(directions: CutDirections, edge_angle_deg: float) -> FloatArray:
    """Return the unit normal of the surface a straight edge cuts, from the tool into the work.

    Parameters
    ----------
    directions
        Directions of the cut.
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].

    Returns
    -------
    ndarray
        ``p cos(kappa) + f sin(kappa)``, shape (3,).

    Source
    ------
    Geometry of the edge angle (computed here).
    """
    kappa = np.radians(edge_angle_deg)
    return np.asarray(np.cos(kappa) * directions.passive + np.sin(kappa) * directions.feed)


def straight_matrix(directions: CutDirections, *, edge_angle_deg: float, force: CutForce) -> FloatArray:
    """Return A of a straight edge for a resultant coefficient of 1 Pa and an edge width of 1 m.

    ``A = e n^T`` with n the surface normal and e opposite to the force on the tool. Times Ks it
    gives a margin that is the limit of the edge width in metres.

    Parameters
    ----------
    directions
        Directions of the cut.
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].
    force
        Components whose ratio sets the direction of the resultant.

    Returns
    -------
    ndarray
        Matrix [m/m], shape (3, 3), bar frame.

    Source
    ------
    Tlusty & Poláček 1963 (recalled, not opened).
    """
    on_tool = force_on_tool(directions, force)
    e = -on_tool / np.linalg.norm(on_tool)
    return np.outer(e, surface_normal(directions, edge_angle_deg))
