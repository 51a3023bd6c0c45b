"""The wall of a thin tube in a chuck: waves that run round it, between a free tube and an end held all round.

A wall that moves ``w(z) cos(n a)`` outward and ``w / n`` sideways stretches nowhere round the tube; along it
such a wave bends, shears and twists as a beam on a bed does, whose bed is the bending of the ring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.beam.work_holding import FULL_JAW_MM, PERFECT
from stickout.fem.setup.bands import Band
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.materials import Material
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# Wall over diameter below which a tube is thin.
THIN: Final = 0.1
WAVES: Final = (2, 3, 4)
# What a wall loses over what a clamped part loses: it rubs at its end alone, and rings on.
WALL_SHARE: Final = 0.25
WALL_LOSS: Final = Band(0.005, 0.01, 0.0175, "common practice, no source: a gripped bell")
# Root of the first note of a beam held at one end, its shape's other number, and its slope's mean square.
_ROOT, _SIGMA, _SLOPE = 1.8751041, 0.7340955, 4.6478
# Three jaws let two waves ring, and hold more of them where they press.
_LOOSE: Final = 2


@dataclass(frozen=True)
class WallMode:
    """A wave of a wall: how many all round, its note [rad/s], and what it yields outward per force [m/N].

    Sideways, along the surface, its twin a quarter of a wave on yields that over the square of the waves.
    """

    waves: int
    omega: float
    give: FloatArray


@dataclass(frozen=True)
class _Beam:
    """A wave as a beam on a bed, per unit length: mass, bed, and stiffness against bending, shear, twist."""

    mass: float
    bed: float
    bending: float
    shear: float
    twist: float


def is_thin(work: Work) -> bool:
    """Return whether the part is a tube of one size whose wall is thin enough to ring by itself."""
    wall = 0.5 * (work.diameter_mm - (work.bore_mm or 0.0))
    return bool(work.bore_mm) and not work.steps and wall < THIN * work.diameter_mm


def has_thin_piece(work: Work) -> bool:
    """Return whether a piece of the part is a tube whose wall is thin enough to ring by itself."""
    return any(bore > 0 and 0.5 * (size - bore) < THIN * size for _, _, size, bore in sections(work))


def wall_modes(
    work: Work, material: Material, *, stations: FloatArray, side: str = "likely"
) -> list[WallMode]:
    """Return the waves of a thin tube held at one end, and what each yields at places; none for other parts.

    Parameters
    ----------
    work
        The part.
    material
        What it is made of.
    stations
        Places from the jaws on [m], shape (n,).
    side
        ``low``: as free as three jaws can leave it; ``high`` or ``perfect``: held all round; ``likely``
        half-way between, in the logarithm.

    Source
    ------
    Energies of a thin shell that stretches nowhere round its rim (Love, Rayleigh; recalled, not opened),
    shear and bending along it in series (Dunkerley, recalled): notes within 3 % of solids for tubes longer
    than their diameter, 12 % too high for one half as long, yield up to a fifth too large (computed here)
    [B.tube].
    """
    if not is_thin(work) or work.held != "chuck":
        return []
    out = []
    for waves in WAVES:
        beam = _wave(work, material, waves=waves)
        held = _held(beam, work, waves=waves, stations=stations)
        loose = _free(beam, work, stations=stations) if waves <= _LOOSE else _hinged(beam, work, stations)
        omega, give = {
            "low": loose,
            "high": held,
            PERFECT: held,
            "likely": (math.sqrt(loose[0] * held[0]), np.sqrt(loose[1] * held[1])),
        }[side]
        out.append(WallMode(waves, omega, give))
    return out


def wall_give(work: Work, material: Material, *, stations: FloatArray, side: str = "likely") -> FloatArray:
    """Return what a thin wall yields outward per force at places [m/N], shape (n,); zeros for other parts.

    Parameters
    ----------
    work, material, stations, side
        As for ``wall_modes``, which names the source.
    """
    found = wall_modes(work, material, stations=stations, side=side)
    return np.asarray(sum((one.give for one in found), start=np.zeros(len(stations))))


def _wave(work: Work, material: Material, *, waves: int) -> _Beam:
    """Return a wave of the wall as a beam on a bed."""
    young, nu = material.youngs_modulus.likely, material.poisson_ratio.likely
    bore = work.bore_mm or 0.0
    wall, radius = 0.5 * (work.diameter_mm - bore) * MM, 0.25 * (work.diameter_mm + bore) * MM
    shear, round_it = young / (2 * (1 + nu)), (waves**2 - 1.0) ** 2
    return _Beam(
        mass=material.density.likely * wall * math.pi * radius * (1 + waves**-2.0),
        bed=young * wall**3 / 12 * round_it * math.pi / radius**3,
        bending=young * wall * math.pi * radius**3 / waves**4,
        shear=shear * wall * math.pi * radius / waves**2,
        twist=shear * wall**3 / 3 * math.pi * round_it / (waves**2 * radius),
    )


def _held(beam: _Beam, work: Work, *, waves: int, stations: FloatArray) -> tuple[float, FloatArray]:
    """Return note and yield with one end held all round."""
    length = work.length_mm * MM
    bent = _ROOT**4 * beam.bending / length**4
    sheared = (math.pi / 2) ** 2 * beam.shear / length**2
    stiff = beam.bed + 1 / (1 / bent + 1 / sheared) + _SLOPE * beam.twist / length**2
    x = _ROOT * stations / length
    shape = 0.5 * (np.cosh(x) - np.cos(x) - _SIGMA * (np.sinh(x) - np.sin(x)))
    return math.sqrt(stiff / beam.mass), shape**2 / (stiff * length / 4)


def _hinged(beam: _Beam, work: Work, stations: FloatArray) -> tuple[float, FloatArray]:
    """Return note and yield with one end held in place, free to turn."""
    length = work.length_mm * MM
    stiff = beam.bed + 3 * beam.twist / length**2
    return math.sqrt(stiff / beam.mass), (stations / length) ** 2 / (stiff * length / 3)


def _free(beam: _Beam, work: Work, *, stations: FloatArray) -> tuple[float, FloatArray]:
    """Return note and yield of a free tube, what lies in the jaws included: alike all along, and rocking."""
    jaws = (work.jaw_length_mm or FULL_JAW_MM) * MM
    length = work.length_mm * MM + jaws
    across = 2 * (stations + jaws) / length - 1
    rocking = beam.bed + 12 * beam.twist / length**2
    give = 1 / (beam.bed * length) + across**2 / (rocking * length / 3)
    return math.sqrt(beam.bed / beam.mass), np.asarray(give)


def free_ring_notes(work: Work, *, youngs_modulus: float, density: float) -> FloatArray:
    """Return the notes of the thinnest piece of a tube as a free ring with 2, 3 and 4 waves [Hz], shape (3,).

    Parameters
    ----------
    work
        The part.
    youngs_modulus, density
        Of its material [Pa], [kg/m3].

    Returns
    -------
    ndarray
        Infinite where the part is solid. The least that a thin tube rings at; held all round it rings higher.

    Source
    ------
    Rings: ``n(n^2-1)/sqrt(n^2+1) sqrt(E h^2/12 rho R^4)/2 pi`` (recalled, not opened) [B.tube].
    """
    tubes = [((d - b) / 2 * MM, (d + b) / 4 * MM) for _, _, d, b in sections(work) if b > 0]
    if not tubes:
        return np.full(3, np.inf)
    wall, radius = min(tubes, key=lambda one: one[0] / one[1] ** 2)
    n = np.array([2.0, 3.0, 4.0])
    speed = np.sqrt(youngs_modulus * wall**2 / (12 * density * radius**4))
    return np.asarray(n * (n**2 - 1) / np.sqrt(n**2 + 1) * speed / (2 * np.pi))
