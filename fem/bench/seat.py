"""The flat seat under a shank: the force at which it opens."""

from __future__ import annotations


def opening_force(screw_force: float, *, overhang: float, gripped: float, toward_floor: bool) -> float:
    """Return the force at the tip that opens a flat seat, screws in the middle [N].

    Parameters
    ----------
    screw_force
        Force of all screws together [N].
    overhang, gripped
        Lengths, one unit.
    toward_floor
        Whether the push is toward the floor of the seat, or away from it.

    Source
    ------
    Linear pressure under the shank (computed here). [A2.open.*]
    """
    return screw_force / ((2.0 if toward_floor else 4.0) + 6.0 * overhang / gripped)
