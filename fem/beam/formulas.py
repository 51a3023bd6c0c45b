"""Closed forms of a bar in bending, torsion and along its axis. All SI, frequencies in Hz."""

from __future__ import annotations

import math

from stickout.fem.beam.sections import require_positive
from stickout.fem.beam.spans import HELD, End, Span
from stickout.fem.errors import InputError

ZETA_5 = 1.0369277551433699  # Riemann's zeta function at 5; Abramowitz & Stegun (recalled, not opened)


def sprung_cantilever_stiffness(span: Span, *, root: End = HELD) -> float:
    """Return force over deflection at the tip of one uniform span whose root stands on springs [N/m].

    ``1 / (L^3/3EI + L/kappaGA + L^2/k_rotation + 1/k_translation)``; a held root has infinite springs.

    Source
    ------
    Statics: deflections of springs in series add, computed here.
    """
    length = span.length
    compliance = length**3 / (3.0 * span.bending) + length / span.shear
    for stiffness, lever in ((root.rotation, length**2), (root.translation, 1.0)):
        compliance += lever / stiffness if stiffness > 0.0 else math.inf
    return 1.0 / compliance


def bed_wave_number(span: Span) -> float:
    """Return ``(k/4EI)^(1/4)`` of a span on a bed [1/m]: its inverse is the reach of a disturbance.

    Source
    ------
    Hetenyi, Beams on Elastic Foundation (1946) (recalled, not opened).
    """
    return math.sqrt(math.sqrt(span.bed.lateral / (4.0 * span.bending)))


def deep_bed_stiffness(overhang: Span, gripped: Span) -> float:
    """Return force over tip deflection of a bar whose gripped part runs deep into a bed [N/m].

    ``1 / (L^3/3EI + (2 q/k)(1 + 2 q L + 2 q^2 L^2))`` with ``q = (k/4EI)^(1/4)``: a half-infinite
    Euler-Bernoulli beam on Winkler's bed carries the overhang's force and moment.

    Parameters
    ----------
    overhang
        The free part; its shear is left out.
    gripped
        The part on the bed; its length is taken as infinite. Good from about ``q * length = 3`` on.

    Returns
    -------
    float
        Tip stiffness [N/m].

    Raises
    ------
    InputError
        The gripped part has no bed.

    Source
    ------
    Hetenyi, Beams on Elastic Foundation (1946) (recalled, not opened).
    """
    require_positive("gripped.bed.lateral", gripped.bed.lateral)
    q, length = bed_wave_number(gripped), overhang.length
    sinking = (2.0 * q / gripped.bed.lateral) * (1.0 + 2.0 * q * length + 2.0 * (q * length) ** 2)
    return 1.0 / (length**3 / (3.0 * overhang.bending) + sinking)


def rigid_shank_springs(span: Span) -> End:
    """Return the springs of a stiff shank on a bed, about its middle: ``k a`` and ``k a^3/12 + c a``.

    Source
    ------
    Statics, computed here.
    """
    lateral, rotation = span.bed.lateral, span.bed.rotation
    return End(
        translation=lateral * span.length,
        rotation=lateral * span.length**3 / 12.0 + rotation * span.length,
    )


def rayleigh_frequency(span: Span, *, tip_mass: float = 0.0) -> float:
    """Return Rayleigh's estimate of a held bar's first bending frequency with a tip mass [Hz].

    ``sqrt(k / (M + 33/140 m))/2pi`` with the tip stiffness k: above the exact value by 1.5 % without a
    tip mass, by less with one.

    Source
    ------
    Rayleigh, Theory of Sound, vol. 1 (recalled, not opened); the static shape as trial shape.
    """
    mass = tip_mass + 33.0 / 140.0 * span.mass * span.length
    return math.sqrt(sprung_cantilever_stiffness(span) / mass) / (2.0 * math.pi)


def axial_frequency(length: float, *, youngs_modulus: float, density: float, mode: int = 1) -> float:
    """Return an axial frequency of a bar held at one end, ``(2n-1) sqrt(E/rho) / 4L`` [Hz].

    Parameters
    ----------
    length
        Free length [m].
    youngs_modulus
        Young's modulus [Pa].
    density
        Density [kg/m^3].
    mode
        Number n of the mode, from 1.

    Returns
    -------
    float
        Frequency [Hz].

    Raises
    ------
    InputError
        A size or property is not above zero, or the mode number is below 1.

    Source
    ------
    Blevins, Formulas for Natural Frequency and Mode Shape (1979) (recalled, not opened).
    """
    for key, value in (("length", length), ("youngs_modulus", youngs_modulus), ("density", density)):
        require_positive(key, value)
    if mode < 1:
        raise InputError(key="mode", given=mode, allowed="1 or above", mend="The first mode is number 1.")
    return (2 * mode - 1) * math.sqrt(youngs_modulus / density) / (4.0 * length)


def torsion_frequency(
    length: float, *, shear_modulus: float, density: float, torsion_ratio: float = 1.0, mode: int = 1
) -> float:
    """Return a torsional frequency of a bar held at one end, ``(2n-1) sqrt(G J / rho Ip) / 4L`` [Hz].

    Parameters
    ----------
    length
        Free length [m].
    shear_modulus
        Shear modulus [Pa].
    density
        Density [kg/m^3].
    torsion_ratio
        Torsion constant over polar second moment of area, ``J/Ip`` [-]; 1 for round bars and tubes.
    mode
        Number n of the mode, from 1.

    Returns
    -------
    float
        Frequency [Hz], warping left free everywhere (a held root stops it, which raises the frequency).

    Raises
    ------
    InputError
        A size or property is not above zero, or the mode number is below 1.

    Source
    ------
    Saint-Venant torsion; Blevins, Formulas for Natural Frequency and Mode Shape (1979) (recalled).
    """
    require_positive("torsion_ratio", torsion_ratio)
    stiff = shear_modulus * torsion_ratio
    return axial_frequency(length, youngs_modulus=stiff, density=density, mode=mode)


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
