"""Cut directions in the bar frame: where passive, cutting and feed directions point, and the force.

c is the direction in which the edge moves through the work, opposite to the work's own motion, so
that the force on the tool is ``-(Fc c + Ff f + Fp p)`` for components after ISO 3002-4.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.force.blade import cutting_edge
from stickout.fem.force.edge_matrices import local_cut_matrix
from stickout.fem.force.law import CutForce, ForceLaw
from stickout.fem.force.nose import EngagedEdge
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]
MatrixOfDepth = Callable[[FloatArray], FloatArray]

_X, _Y, _Z = np.eye(3)
_SIDES = {
    "turning": ("headstock", "tailstock"),
    "boring": ("front", "rear"),
    "facing": ("left", "right"),
    "parting": (),
}


_KEPT: Final = 512


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
        turning: the tool is fed toward the "headstock" (+y with a front tool, -y with a rear tool) or the
        "tailstock" (the other way round). boring: the wall that is cut, "front"
        (+y, the work moves down) or "rear" (-y, it moves up). facing: the work lies to the "left"
        (-y) or "right" (+y). None: the headstock, front, or left. parting has no side.
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
    The set-up file's own definition; axes after ISO 841 and ISO 3002 (recalled, not opened).
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
    lateral = _Y if chosen in ("right", "front", "headstock") else -_Y
    up = -_Z if rear_tool or chosen == "rear" else _Z
    if operation == "turning":
        # Behind the work the person faces the other way: what lies on the left there lay on the right.
        return CutDirections(passive=_X, cutting=up, feed=-lateral if rear_tool else lateral)
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


def nose_matrix(
    directions: CutDirections,
    law: ForceLaw,
    *,
    feed: float,
    nose_radius: float,
    edge_angle_deg: float,
    corners: int = 1,
) -> MatrixOfDepth:
    """Return the function that gives A in the bar frame for depths: slopes of the law all along the edge.

    Parameters
    ----------
    directions
        Directions of the cut.
    law
        The force law.
    feed, nose_radius
        Feed per revolution and nose radius [m].
    edge_angle_deg
        Tool cutting edge angle kappa_r [deg].
    corners
        1 for a nose, 2 for a blade, whose width is the depth.

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
    Local chip and local normals along the nose (computed here).
    """
    shape = EdgeShape(feed, nose_radius, edge_angle_deg, corners)
    return matrix_of_depth(directions, shape, of_edge=lambda edge: local_cut_matrix(law, edge))


@dataclass(frozen=True)
class EdgeShape:
    """Feed per revolution and nose radius [m], tool cutting edge angle [deg], corners (2: a blade)."""

    feed: float
    nose_radius: float
    edge_angle_deg: float
    corners: int = 1


def matrix_of_depth(
    directions: CutDirections, shape: EdgeShape, *, of_edge: Callable[[EngagedEdge], FloatArray]
) -> MatrixOfDepth:
    """Return the function that gives a matrix of the engaged edge in the bar frame for depths of cut.

    Parameters
    ----------
    directions
        Directions of the cut.
    shape
        Feed and edge.
    of_edge
        Engaged edges at depths of shape (...) to their matrices in the axes (p, c, f), shape (..., 3, 3).

    Returns
    -------
    callable
        Depths [m] of shape (...) to matrices of shape (..., 3, 3).

    Source
    ------
    Definition (computed here).
    """

    # A cut's own depth is asked for again and again, a scan by each case of a sweep.
    @lru_cache(maxsize=_KEPT)
    def at(size: tuple[int, ...], values: bytes) -> FloatArray:
        depths = np.frombuffer(values).reshape(size)
        edge = cutting_edge(
            depths,
            shape.feed,
            nose_radius=shape.nose_radius,
            edge_angle_deg=shape.edge_angle_deg,
            corners=shape.corners,
        )
        return matrix_in_bar_frame(directions, of_edge(edge))

    def matrix(depth: FloatArray) -> FloatArray:
        depths = np.asarray(depth, dtype=np.float64)
        return at(depths.shape, depths.tobytes()).copy()

    return matrix
