"""How long a grip: stiffness and note against the gripped length on a bed, and where more stops paying."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from stickout.fem.beam.hand_bar import hand_compliance_along, hand_note
from stickout.fem.errors import InputError
from stickout.fem.halving import halved
from stickout.fem.setup.bands import Spread
from stickout.fem.setup.changes import with_grip_length
from stickout.fem.setup.parts import Setup
from stickout.fem.size.overhangs import seat_ends

# The knee: the shortest grip that keeps this share of the stiffness of an endless one.
KNEE_SHARE: Final = 0.98
ENDLESS: Final = 12.0  # gripped length over size that counts as endless: the bed's reach is two sizes at most
SIZES: Final = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
_HALVINGS: Final = 30


@dataclass(frozen=True)
class GripPoint:
    """One gripped length [mm], and the shares of an endless grip's stiffness and note that it keeps [-]."""

    gripped_mm: float
    stiffness: float
    note: float


@dataclass(frozen=True)
class GripCurve:
    """The curve at the likely seat; the knee [mm] at the stiff end of its band, likely, at the soft end."""

    points: Sequence[GripPoint]
    knee: Spread


def grip_curve(setup: Setup, *, size_mm: float) -> GripCurve:
    """Return stiffness and note against the gripped length, by hand formulas.

    Parameters
    ----------
    setup
        The bar on a bed.
    size_mm
        Size of the gripped part.

    Returns
    -------
    GripCurve
        The knee is the shortest grip that keeps 98 % of the stiffness of an endless one.

    Raises
    ------
    InputError
        The grip is no bed.

    Source
    ------
    Beam on a bed of springs (computed here). The trade's three to four diameters (trade article, opened) are
    the knee of a seat as soft as its band allows.
    """
    if setup.grip.bedding is None:
        given = setup.grip.style
        raise InputError(
            key="grip", given=given, allowed="bed", mend="A rigid grip has no length that counts."
        )
    whole = with_grip_length(setup, ENDLESS * size_mm)
    spring, note = hand_compliance_along(whole), hand_note(whole)
    points = []
    for share in SIZES:
        one = with_grip_length(setup, share * size_mm)
        points.append(GripPoint(share * size_mm, spring / hand_compliance_along(one), hand_note(one) / note))
    soft, likely, stiff = (_knee(one, size_mm) for one in seat_ends(setup))
    return GripCurve(points, Spread(stiff, likely, soft, {}))


def _knee(setup: Setup, size_mm: float) -> float:
    """Return the knee of one seat [mm]."""
    wanted = hand_compliance_along(with_grip_length(setup, ENDLESS * size_mm)) / KNEE_SHARE
    span = (0.05 * size_mm, ENDLESS * size_mm)
    return halved(
        lambda one: hand_compliance_along(with_grip_length(setup, one)) > wanted, span, times=_HALVINGS
    )[1]
