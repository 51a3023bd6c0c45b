"""Closed forms and reference numbers of beams that the tests compare the program with."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.beam.dynamic_stiffness import chain_stiffness, total_length
from stickout.fem.beam.frequencies import bending_frequencies
from stickout.fem.beam.sections import require_positive
from stickout.fem.beam.spans import FREE, HELD, End, Span
from stickout.fem.errors import InputError


def without_shear(span: Span) -> Span:
    """Return the span after Euler and Bernoulli: no shear deflection, no rotary inertia."""
    return replace(span, shear=math.inf, rotary=0.0)


@dataclass(frozen=True)
class Spindle:
    """A spindle in two bearings: their distance and the nose's reach [m], bearings [N/m], E I [N m^2]."""

    span: float
    nose: float
    front: float
    rear: float
    bending: float


def nose_compliance(spindle: Spindle, beyond: float = 0.0) -> float:
    """Return the deflection per force at a place beyond the nose on a stiff arm [m/N].

    Parameters
    ----------
    spindle
        The spindle.
    beyond
        Distance from the nose [m].

    Returns
    -------
    float
        ``((s+x)/s)^2/k_f + (x/s)^2/k_r + x^2 s/3EI`` at ``x = nose + beyond`` and the nose bent by
        the force and the moment of the arm.

    Source
    ------
    Beam tables, superposed (computed here) [B.spindle].
    """
    s, a, ei = spindle.span, spindle.nose, spindle.bending
    x = a + beyond
    bearings = ((s + x) / s) ** 2 / spindle.front + (x / s) ** 2 / spindle.rear
    return bearings + x**2 * s / (3 * ei) + (a**3 / 3 + a**2 * beyond + a * beyond**2) / ei


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


def count_below(spans: Sequence[Span], frequency: float, *, root: End = HELD, tip: End = FREE) -> int:
    """Return how many bending frequencies lie below ``frequency`` [Hz], rigid motions counted.

    Source
    ------
    Wittrick & Williams, Q. J. Mech. Appl. Math. 24 (1971) 263 (recalled, not opened).
    """
    matrix, keep = chain_stiffness(spans, (2.0 * math.pi * frequency) ** 2, root=root, tip=tip)
    return int(np.count_nonzero(np.linalg.eigvalsh(matrix[np.ix_(keep, keep)]) < 0.0))


def modal_tip_stiffness(spans: Sequence[Span], mode: int = 1, *, root: End = HELD, tip: End = FREE) -> float:
    """Return the stiffness of one mode referred to motion of the tip [N/m].

    Modal mass times angular frequency squared. The mass is the slope of the tip's dynamic stiffness
    over the squared frequency, taken across the root.

    Parameters
    ----------
    spans
        Spans from the root to the tip.
    mode
        Number of the mode, from 1; it must not be a rigid motion.
    root
        What holds the first span's outer end.
    tip
        What holds or loads the last span's outer end.

    Returns
    -------
    float
        Modal stiffness [N/m]: 1.0302 times the static one for mode 1 of a slender held bar.

    Raises
    ------
    InputError
        There is no span, the mode is a rigid motion, or the tip is held.

    Source
    ------
    Derivative of the receptance at a pole, computed here.
    """
    squared = (2.0 * math.pi * float(bending_frequencies(spans, mode, root=root, tip=tip)[-1])) ** 2
    if squared == 0.0:
        raise InputError(
            key="mode", given=mode, allowed="an elastic mode", mend="Ask for a mode above the rigid motions."
        )
    # Near 1e-4 the error of the difference (step squared) meets that of rounding (1e-12 over the step).
    step = 1e-4
    above, below = (_dynamic(spans, squared * (1.0 + sign * step), root, tip) for sign in (1.0, -1.0))
    return (below - above) / (2.0 * step)


def _dynamic(spans: Sequence[Span], squared: float, root: End, tip: End) -> float:
    """Return force over deflection at the tip at a squared angular frequency [N/m]."""
    matrix, keep = chain_stiffness(spans, squared, root=root, tip=tip)
    kept = np.flatnonzero(keep)
    receptance = np.linalg.inv(matrix[np.ix_(keep, keep)])
    place = int(np.searchsorted(kept, len(matrix) - 2))
    return float(1.0 / receptance[place, place]) / total_length(spans) ** 2
