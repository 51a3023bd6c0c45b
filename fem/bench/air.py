"""What the air does to a vibrating bar: a little mass, a little sound carried away, far below any error."""

from __future__ import annotations

import math

from scipy.special import hankel2

AIR_DENSITY = 1.204  # kg/m3 at 20 degrees
SOUND_SPEED = 343.2  # m/s at 20 degrees


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
