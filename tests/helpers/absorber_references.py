"""Closed forms of absorbers that the tests compare the program with."""

from __future__ import annotations

import numpy as np

from stickout.fem.chatter.absorber_theory import ComplexArray, Pair, Tuning, check_mass_ratio
from stickout.meshes.tagged import FloatArray


def by_primary(tuning: Tuning) -> float:
    """Return ``c / (2 m_a w_n)`` of a tuning: the same dashpot told by the bar's frequency."""
    return tuning.zeta_own * tuning.frequency_ratio


def by_own(zeta_by_primary: float, frequency_ratio: float) -> Tuning:
    """Return the tuning of a dashpot told as ``c / (2 m_a w_n)``."""
    return Tuning(frequency_ratio, zeta_by_primary / frequency_ratio)


def den_hartog_peak(mu: float) -> float:
    """Return ``|G| k`` at the two fixed points, ``sqrt(1 + 2/mu)``; the true peak is up to 0.4 % higher.

    Source
    ------
    Ormondroyd & Den Hartog 1928 (recalled, not opened). [f.dh.peak.*]
    """
    check_mass_ratio(mu)
    return float(np.sqrt(1.0 + 2.0 / mu))


def lanchester(mu: float) -> float:
    """Return the best ``c / (2 m_a w_n)`` of a mass on a dashpot alone, no spring (oil, soft rubber).

    Source
    ------
    ``sqrt(1 / (2 (1+mu) (2+mu)))``, peak ``(2+mu)/mu``; Den Hartog (recalled, not opened). [f.lanchester.*]
    """
    check_mass_ratio(mu)
    return float(np.sqrt(1.0 / (2.0 * (1.0 + mu) * (2.0 + mu))))


def lanchester_pair(mu: float, zeta_primary: float = 0.0) -> Pair:
    """Return the best damper without spring as a pair; a spring of next to nothing stands for none."""
    return Pair(mu, by_own(lanchester(mu), 1e-6), zeta_primary)


def scaled_receptance(pair: Pair, ratio: FloatArray) -> ComplexArray:
    """Return ``G k`` of the bar with its absorber.

    Parameters
    ----------
    pair
        Mode and absorber; viscous damping in both.
    ratio
        Frequency over that of the bar without absorber [-], shape (n,).

    Returns
    -------
    ndarray
        Receptance times modal stiffness [-], shape (n,).

    Source
    ------
    Den Hartog, Mechanical Vibrations (recalled, not opened); damped primary computed here.
    """
    f, zeta, r = pair.tuning.frequency_ratio, pair.tuning.zeta_own, np.asarray(ratio)
    spring = f**2 + 2j * zeta * f * r
    bare = 1.0 - r**2 + 2j * pair.zeta_primary * r
    return np.asarray((spring - r**2) / (bare * (spring - r**2) - pair.mu * r**2 * spring))


def mistuned(pair: Pair, off: float) -> Pair:
    """Return the pair with its absorber off tune by a share, its spring changed: -0.1 is 10 % too low."""
    tuning = pair.tuning
    return Pair(pair.mu, Tuning(tuning.frequency_ratio * (1.0 + off), tuning.zeta_own), pair.zeta_primary)


def peak(pair: Pair) -> float:
    """Return the greatest ``|G| k`` over frequency, by a sweep in steps of 1e-5."""
    return float(np.abs(scaled_receptance(pair, np.linspace(0.02, 3.0, 298_001))).max())
