"""Closed forms beside which the bench is held: what air and a mass do, marks, a seat, other ways to damping.

None of it is in any answer: each is the theory that a stated limit, or a thing left out, rests on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, hilbert, sosfilt
from scipy.special import hankel2

from stickout.meshes.tagged import FloatArray

AIR_DENSITY = 1.204  # kg/m3 at 20 degrees
SOUND_SPEED = 343.2  # m/s at 20 degrees
_BAND_HZ = 200.0


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


def envelope_decay(
    record: FloatArray, hz: float, *, rate_hz: float, seconds: tuple[float, float] = (0.0, np.inf)
) -> float:
    """Return the decay rate of a mode by the slope of its envelope's logarithm [1/s].

    Run into the noise it reads too low: by a tenth over six time constants at 30 dB, by a quarter at 20 dB.

    Parameters
    ----------
    record
        The tap, shape (n,).
    hz
        The note [Hz]; 200 Hz to either side are let through.
    rate_hz
        Samples a second.
    seconds
        First and last moment that counts, from the start of the record [s].

    Source
    ------
    Hilbert envelope, straight line by least squares (computed here). [A.env.floor.*]
    """
    band = (max(hz - _BAND_HZ, 0.2 * hz), min(hz + _BAND_HZ, 0.45 * rate_hz))
    bank = butter(3, band, btype="band", fs=rate_hz, output="sos")
    size = np.abs(hilbert(sosfilt(bank, record)))
    t = np.arange(len(record)) / rate_hz
    use = (t >= seconds[0]) & (t <= seconds[1])
    return float(-np.polyfit(t[use], np.log(np.maximum(size[use], 1e-300)), 1)[0])


def half_power_ratio(record: FloatArray, hz: float, *, rate_hz: float) -> float | None:
    """Return the damping ratio by the width of a spectral peak at half power; None where it stands not free.

    Parameters
    ----------
    record
        The tap, at least five widths of the peak long, shape (n,).
    hz
        The note [Hz].
    rate_hz
        Samples a second.

    Source
    ------
    Width over twice the note (recalled, not opened).
    """
    size = 1 << (8 * len(record) - 1).bit_length()
    power = np.abs(np.fft.rfft(record, size)) ** 2
    step = rate_hz / size
    near = slice(max(round(0.95 * hz / step), 1), round(1.05 * hz / step) + 2)
    top = near.start + int(np.argmax(power[near]))
    below = np.flatnonzero(power[:top] < 0.5 * power[top])
    above = np.flatnonzero(power[top:] < 0.5 * power[top])
    if not below.size or not above.size:
        return None
    low, high = int(below[-1]), top + int(above[0])
    left = low + (0.5 * power[top] - power[low]) / (power[low + 1] - power[low])
    right = high - (0.5 * power[top] - power[high]) / (power[high - 1] - power[high])
    width = step * float(right - left)
    return width / (2.0 * hz) if len(record) / rate_hz * width > 1.5 else None


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
