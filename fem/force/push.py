"""How hard the work pushes the edge away: bands of force and thrust, and what is left of them once measured.

Spring passes measure their product, the push. It is split as their bands make likely, and what one of them
may still be more the other must be less.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from stickout.fem.force.law import ForceLaw
from stickout.fem.setup.bands import Band
from stickout.fem.setup.work_materials import WorkMaterial

# Of the thrust over the cutting force: common practice, no source.
THRUST_LOW: Final = 0.75
THRUST_HIGH: Final = 1.25


def force_share(material: WorkMaterial) -> float:
    """Return which share of what the push differs from the table, in logarithms, is the cutting force's.

    Source
    ------
    Normal bands, conditioned on their sum (computed here).
    """
    force = math.log(material.high / material.low) ** 2
    return force / (force + math.log(THRUST_HIGH / THRUST_LOW) ** 2)


def pushed_law(law: ForceLaw, material: WorkMaterial, *, push: Band | None) -> ForceLaw:
    """Return the law with force and thrust as the measured push makes likely; as it is without one.

    Parameters
    ----------
    law
        The law of the table.
    material
        Entry of the table.
    push
        Push over that of the table [-].
    """
    if push is None:
        return law
    share = force_share(material)
    return replace(
        law,
        kc11=law.kc11 * push.likely**share,
        thrust_ratio=law.thrust_ratio * push.likely ** (1.0 - share),
    )


def left_of_bands(
    material: WorkMaterial, *, push: Band | None
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return low and high of the cutting force, and of the thrust over it, as factors of the likely ones.

    Parameters
    ----------
    material
        Entry of the table.
    push
        Push over that of the table [-]; None where it was not measured.

    Source
    ------
    Normal bands, conditioned on their sum (computed here).
    """
    force, thrust = (material.low, material.high), (THRUST_LOW, THRUST_HIGH)
    if push is None:
        return force, thrust
    share, width = force_share(material), math.log(push.high / push.low)
    each = [math.log(high / low) for low, high in (force, thrust)]
    apart = each[0] * each[1] / math.hypot(*each)
    ends = [math.exp(0.5 * math.hypot(apart, part * width)) for part in (share, 1.0 - share)]
    return (1.0 / ends[0], ends[0]), (1.0 / ends[1], ends[1])


def push_band(material: WorkMaterial, *, push: Band | None) -> tuple[float, float]:
    """Return low and high of the push as factors of the likely one: measured, else of the table's force."""
    if push is None:
        return material.low, material.high
    return push.low / push.likely, push.high / push.likely
