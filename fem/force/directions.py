"""Cut directions in the bar frame: where passive, cutting and feed directions point, and the force.

c is the direction in which the edge moves through the work, opposite to the work's own motion, so
that the force on the tool is ``-(Fc c + Ff f + Fp p)`` for components after ISO 3002-4.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.law import CutForce, ForceLaw, tangent_coefficient
from stickout.fem.force.nose import cut_matrix, engaged_edge
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]
MatrixOfDepth = Callable[[FloatArray], FloatArray]

_X, _Y, _Z = np.eye(3)
_SIDES = {
    "turning": ("left", "right"),
    "boring": ("front", "rear"),
    "facing": ("left", "right"),
    "parting": (),
}


@dataclass(frozen=True)
class CutDirections:
    """Unit vectors of the cut in the bar frame, each of shape (3,).

    Attributes
    ----------
    passive
        p, into the work and square to the feed. For parting: along the edge, +y.
    cutting
        c, the way the edge moves through the work.
    feed
        f, the way the tool is fed.
    """

    passive: FloatArray
    cutting: FloatArray
    feed: FloatArray

    @property
    def rotation(self) -> FloatArray:
        """Matrix that turns bar-frame vectors (x, y, z) into (p, c, f) components, shape (3, 3)."""
        return np.stack([self.passive, self.cutting, self.feed])


def cut_directions(operation: str, side: str | None = None, *, rear_tool: bool = False) -> CutDirections:
    """Return the directions of a cut in the bar frame.

    Parameters
    ----------
    operation
        turning, boring, facing or parting.
    side
        turning: the tool is fed "left" (-y) or "right" (+y). boring: the wall that is cut, "front"
        (+y, the work moves down) or "rear" (-y, it moves up). facing: the work lies to the "left"
        (-y) or "right" (+y). None: left, or front. parting has no side.
    rear_tool
        The tool stands behind the spindle axis, or is turned upside down with the spindle reversed:
        the work moves up past the edge. Not for boring, where the wall says it.

    Returns
    -------
    CutDirections
        Unit vectors p, c, f.

    Raises
    ------
    InputError
        Unknown operation or side, or a rear tool for boring.

    Source
    ------
    design.md section 1 (opened), axes after ISO 841 and ISO 3002 (recalled, not opened).
    """
    if operation not in _SIDES:
        raise InputError(
            key="operation", given=operation, allowed=f"one of {sorted(_SIDES)}", mend="Name the kind of cut."
        )
    allowed = _SIDES[operation]
    chosen = side if side is not None or not allowed else allowed[0]
    if chosen is not None and chosen not in allowed:
        raise InputError(
            key="side",
            given=side,
            allowed=f"one of {list(allowed)} for {operation}" if allowed else "left out for parting",
            mend="Say where the tool is fed to, or which wall is cut.",
        )
    if operation == "boring" and rear_tool:
        raise InputError(
            key="rear_tool", given=rear_tool, allowed="false for boring", mend="Give the wall: 'rear'."
        )
    lateral = _Y if chosen in ("right", "front") else -_Y
    up = -_Z if rear_tool or chosen == "rear" else _Z
    if operation == "turning":
        return CutDirections(passive=_X, cutting=up, feed=lateral)
    return CutDirections(passive=_Y if operation == "parting" else lateral, cutting=up, feed=_X)


def force_on_tool(directions: CutDirections, force: CutForce) -> FloatArray:
    """Return the force on the tool in the bar frame.

    Parameters
    ----------
    directions
        Directions of the cut.
    force
        Components of the force on the work [N].

    Returns
    -------
    ndarray
        Force [N], shape (3,).

    Source
    ------
    ISO 3002-4 for the components (recalled, not opened); the tool feels the opposite.
    """
    return np.asarray(-(np.array([force.p, force.c, force.f]) @ directions.rotation))


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
    physics.md section 0 (opened).
    """
    kappa = np.radians(edge_angle_deg)
    return np.asarray(np.cos(kappa) * directions.passive + np.sin(kappa) * directions.feed)


def matrix_in_bar_frame(directions: CutDirections, matrix: FloatArray) -> FloatArray:
    """Turn a matrix from the axes (p, c, f) to the bar frame (x, y, z).

    Parameters
    ----------
    directions
        Directions of the cut.
    matrix
        Matrix in (p, c, f), shape (..., 3, 3).

    Returns
    -------
    ndarray
        The same map in (x, y, z), shape (..., 3, 3).

    Source
    ------
    Change of an orthonormal basis (computed here).
    """
    turn = directions.rotation
    return np.asarray(turn.T @ matrix @ turn)


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


def nose_matrix(
    directions: CutDirections, law: ForceLaw, *, feed: float, nose_radius: float, edge_angle_deg: float
) -> MatrixOfDepth:
    """Return the function that gives A in the bar frame for depths of cut.

    Both coefficients are the tangents of the power law at the mean chip thickness.

    Parameters
    ----------
    directions
        Directions of the cut.
    law
        The force law.
    feed
        Feed per revolution [m].
    nose_radius
        Nose radius [m].
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].

    Returns
    -------
    callable
        Depths [m] of shape (...) to matrices [N/m] of shape (..., 3, 3).

    Raises
    ------
    InputError
        When called: a depth no edge can cut, see ``check_cut``.

    Source
    ------
    physics.md section b, general nose (opened).
    """

    def matrix(depth: FloatArray) -> FloatArray:
        edge = engaged_edge(depth, feed, nose_radius=nose_radius, edge_angle_deg=edge_angle_deg)
        tangential = tangent_coefficient(law, edge.mean_chip)
        in_cut = cut_matrix(edge, tangential=tangential, thrust=law.thrust_ratio * tangential)
        return matrix_in_bar_frame(directions, in_cut)

    return matrix
