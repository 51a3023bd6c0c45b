"""What turning and the push of a centre do to the notes of a part: small numbers, in closed form."""

from __future__ import annotations

import numpy as np

from stickout.fem.setup.materials import Material
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM


def turning_pair(work: Work, material: Material, *, speed_rpm: float) -> tuple[float, float]:
    """Return the first note between centres of a part that turns, backward and forward [Hz].

    Parameters
    ----------
    work
        A part of one size; its ends are taken as pinned.
    material
        What it is made of.
    speed_rpm
        Speed of the spindle.

    Source
    ------
    Rayleigh beam with the gyroscopic term, ``(A + I k^2) w^2 -/+ 2 I k^2 W w = E I k^4 / rho`` (computed
    here) [B.gyro].
    """
    area, second = _section(work)
    k = np.pi / (work.length_mm * MM)
    heavy, spin = area + second * k**2, 2 * second * k**2 * speed_rpm * 2 * np.pi / 60
    stiff = material.youngs_modulus.likely * second * k**4 / material.density.likely
    root = np.sqrt((spin / 2) ** 2 + heavy * stiff)
    low, high = ((root + sign * spin / 2) / heavy / (2 * np.pi) for sign in (-1.0, 1.0))
    return float(low), float(high)


def pushed_ratio(work: Work, material: Material, *, push: float) -> float:
    """Return the first note between centres under an axial push over that without [-]; 0 where it buckles.

    Parameters
    ----------
    work
        A part; its first size counts all along, its ends are taken as pinned.
    material
        What it is made of.
    push
        Of the tailstock [N].

    Source
    ------
    ``sqrt(1 - F / F_cr)``, ``F_cr = pi^2 E I / L^2`` (Euler; recalled, not opened) [B.axial].
    """
    critical = np.pi**2 * material.youngs_modulus.likely * _section(work)[1] / (work.length_mm * MM) ** 2
    return float(np.sqrt(max(1.0 - push / critical, 0.0)))


def _section(work: Work) -> tuple[float, float]:
    """Return area [m^2] and second moment [m^4] of the part's first size."""
    outer, inner = work.diameter_mm * MM, (work.bore_mm or 0.0) * MM
    return np.pi / 4 * (outer**2 - inner**2), np.pi / 64 * (outer**4 - inner**4)
