"""What an absorber makes of the mode along the force: its mass ratio there, and the two modes it leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stickout.fem.chatter.absorber_theory import Pair, Tuning, coupled_modes
from stickout.fem.cut.absorber import MOVES
from stickout.fem.study.clamped_loss import mode_loss
from stickout.fem.study.result import Result


@dataclass(frozen=True)
class AbsorberNotes:
    """The mode along the force with the absorber on it.

    Attributes
    ----------
    mass_ratio
        Absorber's mass over the modal mass at its place [-].
    modal_mass
        That modal mass [kg].
    zeta_bare
        Damping ratio of the mode without it [-], clamping counted.
    modes
        Frequency [Hz] and damping ratio [-] of what the two of them do together, the lower first; a motion
        damped past critical is left out.
    """

    mass_ratio: float
    modal_mass: float
    zeta_bare: float
    modes: Sequence[tuple[float, float]]


def absorber_notes(result: Result) -> AbsorberNotes | None:
    """Return what the absorber makes of the aligned mode.

    None without an absorber, and where its place does not move its way in that mode.

    Source
    ------
    One mode and one mass (Den Hartog; recalled, not opened), by the FE shape at the place.
    """
    one, place, at = result.setup.absorber, result.place, result.aligned
    if one is None or place is None:
        return None
    # Of an equal pair the absorber takes the motion along its own way, whichever the force picks.
    pair = next((p for p in result.pairs if at in p), (at,)) if one.direction != "both" else (at,)
    moved = place.phi[list(pair)][:, MOVES[one.direction]].ravel()
    square, mass = float(moved @ moved), one.mass_g * 1e-3
    if not mass * square > 1e-9:
        return None
    note = float(result.frequency_hz[at])
    zeta = float(mode_loss(result.setup, result.shares)[at]) / 2
    found = coupled_modes(Pair(mass * square, Tuning(one.frequency_hz / note, one.damping_ratio), zeta))
    return AbsorberNotes(mass * square, 1 / square, zeta, [(ratio * note, z) for ratio, z in found])
