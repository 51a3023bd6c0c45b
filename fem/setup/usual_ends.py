"""A set-up with the usual sizes of its holder at the soft or the stiff end of their bands."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Final

from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.usual import Usual

# Key -> the end of its band that makes a holder soft: computed on bars in a bed, a slot and a block. In this
# order the soft ends find room: fewer and smaller screws before a shorter grip; the stiff ends the other way.
_SOFT: Final = {
    "grip.screws": "low",
    "grip.screw_diameter": "low",
    "grip.first_screw": "high",
    "grip.screw_spacing": "low",
    "bar.gripped": "low",
    "grip.block_width": "low",
    "grip.wall": "high",
    "grip.block_height": "low",
}
_OTHER: Final = {"low": "high", "high": "low"}
# Parts of the way to an end that are tried until one leaves the screws on the shank and metal in the block.
_SHARES: Final = (1.0, 0.75, 0.5, 0.25)


def usual_at_end(setup: Setup, side: str) -> Setup:
    """Return the set-up with every size of its holder that was taken as usual at one end of its band.

    Parameters
    ----------
    setup
        The set-up; it is taken as checked.
    side
        ``low`` for all of them soft, ``high`` for all of them stiff.

    Returns
    -------
    Setup
        The same where nothing was taken as usual. Of n sizes each goes a part ``1 / sqrt(n)`` of its way: not
        all of them are at their worst in one holder. None goes further than the others leave it room.

    Notes
    -----
    Together they move the spring at the edge by less than a tenth at the likely seat, the seat's own band by
    a third to over twice (tests/fem/setup/test_usual_ends.py): so they ride on the ends of the grip's band,
    and no solve is added.

    Source
    ------
    The likeliest point on the contour of a sum of n alike, independent inputs (computed here).
    """
    taken = {one.key: one for one in setup.usual}
    order = [key for key in _SOFT if key in taken]
    far = 1.0 / math.sqrt(max(len(order), 1))
    for key in order if side == "low" else reversed(order):
        end = _SOFT[key] if side == "low" else _OTHER[_SOFT[key]]
        tried = (_moved(setup, taken[key], end, far * share) for share in _SHARES)
        setup = next((one for one in tried if next(setup_faults(one), None) is None), setup)
    return setup


def without_usual_sizes(setup: Setup) -> Setup:
    """Return the set-up with the usual sizes of its holder taken as they stand: no band moves them."""
    return replace(setup, usual=tuple(one for one in setup.usual if one.key not in _SOFT))


def _moved(setup: Setup, one: Usual, end: str, share: float) -> Setup:
    """Return the set-up with one size a share of the way to an end of its band."""
    section, name = one.key.split(".")
    likely: float = one.band.likely
    value = likely * (getattr(one.band, end) / likely) ** share
    part: Any = setup.bar if section == "bar" else setup.grip
    changed = {f"{name}_mm": value} if one.unit == "mm" else {name: round(value)}
    new = replace(part, **changed)
    return replace(setup, bar=new) if section == "bar" else replace(setup, grip=new)
