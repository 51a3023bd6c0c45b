"""Closed forms beside which the bench is held: what air and a mass do, marks, a seat.

None of it is in any answer: each is the theory that a stated limit, or a thing left out, rests on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import hankel2

AIR_DENSITY = 1.204  # kg/m3 at 20 degrees
SOUND_SPEED = 343.2  # m/s at 20 degrees


def wave_phase(ratio: float, *, opens: bool = True) -> float:
    """Return the phase between the waves of successive turns at the lowest limit [rad]. Experimental.

    Parameters
    ----------
    ratio
        Damping ratio.
    opens
        Whether the mode opens the cut in the usual sense.

    Source
    ------
    Least and greatest real part of a mode's receptance (computed here, not tested on metal). [A4.eps.*]
    """
    square = 1.0 + (2.0 * ratio if opens else -2.0 * ratio)
    psi = math.atan2(-2.0 * ratio * math.sqrt(square), 1.0 - square)
    return (3.0 if opens else 1.0) * math.pi + 2.0 * psi


def crest_step(pitch: float, ratio: float, *, opens: bool = True) -> float:
    """Return how far crests step along the tool's path from turn to turn [m], forward above 0. Experimental.

    Source
    ------
    ``(1 - phase / 2 pi) pitch``, and back by the rest where the mode does not open the cut (computed here).
    [A4.shift]
    """
    share = 1.0 - wave_phase(ratio, opens=opens) / (2.0 * math.pi)
    return pitch * (share if opens else share - 1.0)


@dataclass(frozen=True)
class MassShift:
    """What two notes and a mass between them tell of the mode at the mass.

    Attributes
    ----------
    mass
        Modal mass [kg].
    stiffness
        Modal stiffness [N/m].
    gain
        By how much a relative error of the ratio of the notes grows in the mass [-].
    """

    mass: float
    stiffness: float
    gain: float

    def errors(self, note_sd: float) -> tuple[float, float]:
        """Return relative standard deviations of mass and stiffness for that of each note."""
        return self.gain * math.sqrt(2.0) * note_sd, math.hypot(self.gain - 2.0, self.gain) * note_sd


def mass_shift(bare_hz: float, loaded_hz: float, *, added: float) -> MassShift:
    """Return modal mass and stiffness from the note without and with a mass at the edge.

    A cross-check only: the fit puts the mass into the model at its place, where this formula's own bias (0.3
    to 1.6 %) and the error of the place (2.7 % of the mass a millimetre) are gone.

    Parameters
    ----------
    bare_hz, loaded_hz
        Notes without and with the mass [Hz].
    added
        The mass [kg].

    Returns
    -------
    MassShift

    Source
    ------
    One mode, ``m = dm / (R - 1)`` with R the squared ratio of the notes (computed here). [A3.mass.*]
    """
    ratio = (bare_hz / loaded_hz) ** 2
    mass = added / (ratio - 1.0)
    return MassShift(mass, mass * (2 * math.pi * bare_hz) ** 2, 2.0 * ratio / (ratio - 1.0))


def air_shift(diameter: float, hz: float, *, density: float) -> tuple[float, float]:
    """Return the relative change of a round bar's note in air, and the damping ratio of its sound.

    Parameters
    ----------
    diameter
        Diameter [m].
    hz
        Note in vacuum [Hz].
    density
        Density of the bar [kg/m3].

    Returns
    -------
    float, float
        Relative shift of the frequency (below zero), damping ratio; both those of an endless bar, for the
        damping an upper bound.

    Source
    ------
    Dipole sound of a cylinder by Hankel functions (computed here). [A.air.*]
    """
    radius = 0.5 * diameter
    ka = 2 * math.pi * hz * radius / SOUND_SPEED
    slope = 0.5 * (hankel2(0, ka) - hankel2(2, ka))
    # Force of the air per length over the bar's velocity, exp(i w t): resistance and i w times added mass.
    impedance = -1j * math.pi * radius * AIR_DENSITY * SOUND_SPEED * hankel2(1, ka) / slope
    omega, mass = 2 * math.pi * hz, density * math.pi * radius**2
    return float(-impedance.imag / omega / (2.0 * mass)), float(impedance.real / (2.0 * mass * omega))
