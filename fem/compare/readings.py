"""Where the loss sits: a change read with the damping as it is, and with the loss where the energy goes.

A clamped tool's damping is known as one number. Whether it stays that number when the grip is made stiffer,
or the bar of another metal, depends on how much of it rubs in the grip: both readings are told where they
differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import given_by_user, mode_loss, seat_loss
from stickout.fem.study.damping import energy_shares
from stickout.fem.study.result import Result

# Readings further apart than this give no one answer (Ungar & Kerwin 1962 for the shares; limit: own choice).
APART: Final = 0.1


@dataclass(frozen=True)
class Readings:
    """The ratio of k times zeta: with the damping ratio as it was, and with the loss by the grip's share."""

    same_damping: float
    by_share: float

    @property
    def depends(self) -> bool:
        """Return whether the two differ by more than a tenth."""
        return abs(self.by_share / self.same_damping - 1.0) > APART


def readings(one: Result, first: Result, *, ratio: float) -> Readings | None:
    """Return both readings of a change.

    Parameters
    ----------
    one, first
        The set-up after and before.
    ratio
        Ratio of k times zeta with the damping as a cut counts it.

    Returns
    -------
    Readings or None
        None where the loss was measured, or a grip has no faces whose share could change.

    Source
    ------
    Loss by strain energy: Johnson & Kienholz 1982 (recalled, not opened); the grip's loss factor such that
    the first set-up has the damping that is taken for it (computed here).
    """
    if given_by_user(one.setup) or given_by_user(first.setup):
        return None
    before, after = (_faces_share(each) for each in (first, one))
    if not before > 0 or not after > 0:
        return None
    seat = seat_loss(first.setup).likely
    fixed, own = (_loss(each, seat=part) for each, part in ((one, seat), (one, 0.0)))
    return Readings(ratio, ratio * (own + seat * after / before) / fixed)


def _faces_share(result: Result) -> float:
    """Return the share of the faces of the grip in the energy of the mode along the force."""
    shares = energy_shares(result.shares)
    return float(sum(shares[name][result.aligned] for name in result.model.ties if name in shares))


def _loss(result: Result, *, seat: float) -> float:
    """Return the loss factor of the mode along the force with another loss of the seat."""
    setup: Setup = result.setup
    likely = float(mode_loss(setup, result.shares)[result.aligned])
    return likely - seat_loss(setup).likely + seat
