"""Closed forms of a bar in bending, torsion and along its axis. All SI, frequencies in Hz."""

from __future__ import annotations

import math

from stickout.fem.beam.sections import require_positive

ZETA_5 = 1.0369277551433699  # Riemann's zeta function at 5; Abramowitz & Stegun (recalled, not opened)


def rectangle_torsion_constant(width: float, height: float) -> float:
    """Return Saint-Venant's torsion constant of a rectangle [m^4]; a square of side a has 0.1405770 a^4.

    Source
    ------
    Timoshenko & Goodier, Theory of Elasticity (recalled, not opened): the hyperbolic tangent series.
    """
    require_positive("width", width)
    require_positive("height", height)
    long, short = max(width, height), min(width, height)
    # The sum of tanh(x)/odd^5 is that of 1/odd^5, which is known, less terms that fall like exp(-pi odd).
    missing = sum(2.0 / (math.exp(odd * math.pi * long / short) + 1.0) / odd**5 for odd in range(1, 12, 2))
    series = 31.0 / 32.0 * ZETA_5 - missing
    return long * short**3 * (1.0 / 3.0 - 64.0 * short / (math.pi**5 * long) * series)
