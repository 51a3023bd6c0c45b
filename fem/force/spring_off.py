"""Spring-off: how far the force pushes the edge away, what passes at the same setting leave, taper."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from stickout.fem.halving import halved
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]

_HALVINGS = 40
"""The depth is then known to a millionth of a millionth of the setting."""


def deflection(static: FloatArray, force: FloatArray) -> FloatArray:
    """Return the static deflection of the edge under a force.

    Parameters
    ----------
    static
        Static compliance at the edge [m/N], shape (..., 3, 3).
    force
        Force on the tool in the bar frame [N], shape (3,).

    Returns
    -------
    ndarray
        Deflection [m], shape (..., 3).

    Source
    ------
    Linear statics (computed here).
    """
    return np.asarray(static @ force)


def spring_off(static: FloatArray, force: FloatArray, *, passive: FloatArray) -> float:
    """Return how far the force pushes the edge out of the work; the diameter is wrong by twice that.

    Parameters
    ----------
    static
        Static compliance at the edge [m/N], shape (3, 3).
    force
        Force on the tool in the bar frame [N], shape (3,).
    passive
        Unit vector into the work, shape (3,).

    Returns
    -------
    float
        Spring-off [m], above zero out of the work: a bore comes small, an outside diameter large.

    Source
    ------
    Linear statics (computed here).
    """
    return float(-(passive @ deflection(static, force)))


def spring_passes(setting: float, push: Callable[[float], float], *, passes: int = 4) -> FloatArray:
    """Return what is left to cut after each pass at the same dial setting.

    In each pass the true depth d and the spring-off add up to what was left: ``d + push(d) = left``.

    Parameters
    ----------
    setting
        Radial depth set on the dial for the first pass [m].
    push
        Spring-off [m] for a true depth [m]; must not fall with depth.
    passes
        Number of passes, at least one.

    Returns
    -------
    ndarray
        Left on the radius after each pass [m], shape (passes,). Below the minimum chip thickness the
        edge rubs and the last figures are not to be trusted.

    Raises
    ------
    InputError
        The setting is not above zero, or there is no pass.

    Source
    ------
    Own balance (computed here); for a push in proportion to depth the rest falls by a fixed ratio.
    """
    if not setting > 0.0:
        raise InputError(
            key="depth",
            given=setting,
            allowed="above 0 m",
            mend="Give the radial depth: half of the change in diameter.",
        )
    if passes < 1:
        raise InputError(key="passes", given=passes, allowed="at least 1", mend="Count the first pass too.")
    left = setting
    rest = []
    for _ in range(passes):
        left -= _true_depth(left, push)
        rest.append(left)
    return np.array(rest)


def _true_depth(left: float, push: Callable[[float], float]) -> float:
    """Return the depth at which depth and spring-off use up what is left, by halving."""
    return 0.5 * sum(halved(lambda depth: depth + push(depth) < left, (0.0, left), times=_HALVINGS))


def turned_radius(radius: float, height: float, *, drop: float) -> float:
    """Return the radius the edge cuts when it sinks by some drop from a height above centre.

    Parameters
    ----------
    radius
        Radius that the edge cuts at rest [m].
    height
        Height of the edge above the spindle axis [m], negative below.
    drop
        How far the edge sinks under the force [m].

    Returns
    -------
    float
        Radius [m]. Set above centre, sinking makes it smaller: a bore comes small, and so does an
        outside diameter.

    Raises
    ------
    InputError
        The height is not less than the radius.

    Source
    ------
    Pythagoras (computed here); both cases told by Rose (fig. 1122) and Jones (fig. 8) (recalled, not opened).
    """
    _check_height(radius, height)
    return float(np.sqrt(radius**2 - height**2 + (height - drop) ** 2))


def centre_angle(radius: float, height: float) -> float:
    """Return how far the work's surface is turned at an edge off centre height.

    Parameters
    ----------
    radius
        Radius that is cut [m].
    height
        Height of the edge above the spindle axis [m], negative below.

    Returns
    -------
    float
        Angle [rad]. In a bore it adds to the clearance and takes from the rake (so a bar below centre
        loses clearance); outside it is the other way round.

    Raises
    ------
    InputError
        The height is not less than the radius.

    Source
    ------
    Geometry of the circle (computed here).
    """
    _check_height(radius, height)
    return float(np.arcsin(height / radius))


def _check_height(radius: float, height: float) -> None:
    """Refuse an edge that never meets the circle it is to cut."""
    if not abs(height) < radius:
        raise InputError(
            key="height",
            given=height,
            allowed=f"less than the radius ({radius:g} m) above or below centre",
            mend="Measure the edge's height from the spindle axis.",
        )


def taper_on_diameter(spring_offs: Sequence[float] | FloatArray) -> float:
    """Return the taper that a spring-off leaves when it changes along the cut.

    Parameters
    ----------
    spring_offs
        Spring-off at stations from the start of the cut to its end [m]: tool and work together.

    Returns
    -------
    float
        Diameter error at the end less that at the start [m]; zero where the spring-off is the same
        all along, as for a bar in stiff work.

    Raises
    ------
    InputError
        Fewer than two stations.

    Source
    ------
    Definition (computed here).
    """
    offs = np.asarray(spring_offs, dtype=np.float64)
    if offs.size < 2:
        raise InputError(
            key="spring_offs",
            given=offs.size,
            allowed="two stations or more",
            mend="Give start and end of the cut.",
        )
    return float(2.0 * (offs[-1] - offs[0]))
